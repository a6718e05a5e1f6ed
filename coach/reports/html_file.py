"""The report as one HTML file: charts inline, no script, nothing fetched from anywhere."""

from collections.abc import Iterable
from html import escape

from coach.reports.charts import days_chart, map_chart, pace_chart, skills_chart
from coach.reports.svg import svg
from coach.reports.values import PieceReport, Report
from coach.reports.words import (
    Table,
    days_table,
    entries_table,
    piece_facts,
    sections_table,
    summary,
    title_of,
)

_STYLE = """
body { font: 17px/1.5 Roboto, "Helvetica Neue", Arial, sans-serif; color: #1c1c1c; background: #ffffff;
  max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.7rem; } h2 { font-size: 1.3rem; margin-top: 2.2rem; }
table { border-collapse: collapse; font-size: 0.9rem; margin: 0.8rem 0; }
th, td { text-align: left; padding: 0.2rem 0.8rem 0.2rem 0; border-bottom: 1px solid #c9c9c9;
  vertical-align: top; }
svg { display: block; margin: 0.8rem 0; max-width: 100%; height: auto; }
p.small { font-size: 0.85rem; color: #4a4a4a; }
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""Forbids the browser to fetch anything at all."""


def report_html(report: Report) -> bytes:
    """A report as an HTML page, UTF-8; all text of the player's is escaped."""
    title = escape(title_of(report))
    parts = [f"<h1>{title}</h1>", *_paragraphs(summary(report))]
    for piece in sorted(report.pieces, key=lambda piece: piece.state != "in hand"):
        parts += _piece(report, piece)
    parts += ["<h2>Days</h2>", svg(days_chart(report.days, report.made_on)), _table(days_table(report))]
    if report.skills:
        parts += ["<h2>Ear skills</h2>", svg(skills_chart(report.skills))]
    if report.entries:
        parts += ["<h2>What happened</h2>", _table(entries_table(report))]
    if report.more_entries:
        parts.append(f'<p class="small">{report.more_entries} earlier entries are left out.</p>')
    parts.append('<p class="small">Written by Two-Line Coach on the player’s own device.</p>')
    head = (
        f'<meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{title}</title><style>{_STYLE}</style>"
    )
    page = f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n' + "\n".join(parts)
    return f"{page}\n</body></html>\n".encode()


def _paragraphs(sentences: Iterable[str]) -> list[str]:
    return [f"<p>{escape(sentence)}</p>" for sentence in sentences]


def _piece(report: Report, piece: PieceReport) -> list[str]:
    parts = [f"<h2>{escape(piece.title)}</h2>"]
    if piece.sections:
        parts += [
            svg(map_chart(piece)),
            svg(pace_chart(piece, report.made_on, report.forecast)),
            _table(sections_table(piece)),
        ]
    return parts + _paragraphs(piece_facts(piece))


def _table(table: Table) -> str:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in table.heads)
    rows = ("".join(f"<td>{escape(cell)}</td>" for cell in row) for row in table.rows)
    body = "".join(f"<tr>{row}</tr>" for row in rows)
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"
