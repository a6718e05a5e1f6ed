"""The report as a PDF, with its fonts embedded."""

from coach.reports.charts import days_chart, map_chart, pace_chart, skills_chart
from coach.reports.pdf_pen import Pen
from coach.reports.values import Report
from coach.reports.words import days_table, entries_table, piece_facts, sections_table, summary, title_of

_SECTION_COLUMNS = (0.1, 0.07, 0.12, 0.12, 0.12, 0.12, 0.1, 0.09, 0.08, 0.08)
_DAY_COLUMNS = (0.2, 0.12, 0.1, 0.1, 0.12, 0.12, 0.12, 0.12)


def report_pdf(report: Report, regular: bytes, bold: bytes) -> bytes:
    """A report as a PDF; the same report gives the same bytes.

    Parameters
    ----------
    regular, bold
        Bytes of the TrueType fonts to embed.
    """
    pen = Pen(regular, bold, title_of(report))
    pen.heading(title_of(report), 18)
    for sentence in summary(report):
        pen.paragraph(sentence)
    for piece in sorted(report.pieces, key=lambda piece: piece.state != "in hand"):
        pen.heading(piece.title, 14)
        if piece.sections:
            pen.chart(map_chart(piece))
            pen.chart(pace_chart(piece, report.made_on, report.forecast))
            pen.table(sections_table(piece), _SECTION_COLUMNS)
        for fact in piece_facts(piece):
            pen.paragraph(fact)
    pen.heading("Days", 14)
    pen.chart(days_chart(report.days, report.made_on))
    pen.table(days_table(report), _DAY_COLUMNS)
    if report.skills:
        pen.heading("Ear skills", 14)
        pen.chart(skills_chart(report.skills))
    if report.entries:
        pen.heading("What happened", 14)
        pen.table(entries_table(report), (0.22, 0.78))
    if report.more_entries:
        pen.paragraph(f"{report.more_entries} earlier entries are left out.")
    return pen.bytes()
