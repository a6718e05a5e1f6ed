"""Every form of the report parses again, by tools that are not ours."""

import csv
import importlib.util
import io
import json
import re
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import html5lib
import icalendar
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import InputError
from coach.practice.events import AimSet, Event, IdeaNoted, PieceChosen, TimeSpent
from coach.practice.fold import fold_all
from coach.practice.proposals import outlook
from coach.practice.sentences import titles_of
from coach.practice.settings import Settings
from coach.practice.stages import Stage
from coach.reports.build import MOST_ENTRIES, build_report
from coach.reports.calendar_file import reminders
from coach.reports.csv_file import COLUMNS, defused, log_csv
from coach.reports.drawing import COLOURS, Ink
from coach.reports.html_file import report_html
from coach.reports.json_file import read_report, report_json
from coach.reports.pdf_file import report_pdf
from coach.reports.values import Report
from tests.event_strategies import events
from tests.practice.test_fold import answer
from tests.practice_steps import START, begun, finished, logged, section_done

NASTY = "<script>alert(1)</script> & <img src='http://evil.example/x.png'> \"quoted\""
TODAY = START.date() + timedelta(days=3)
TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=20)


def made(*more: Event, since: date | None = None, name: str = "") -> Report:
    told = [
        *finished("first"),
        PieceChosen("p", NASTY, None),
        *begun("p")[1:],
        *section_done("A")[:6],
        IdeaNoted("p", NASTY),
        AimSet("p", TODAY + timedelta(days=30)),
        TimeSpent("ear", 240.0),
        answer("echo:5", credit=1.0),
        *more,
    ]
    log = list(logged(told, minutes=60))
    progress = fold_all(log)
    chosen = [each for each in log if since is None or each.at.date() >= since]
    view = outlook(progress, Settings(), TODAY)
    return build_report(progress, chosen, view, TODAY, since=since, name=name)


def fonts() -> list[bytes]:
    spec = importlib.util.find_spec("kivy")
    assert spec is not None
    assert spec.origin is not None
    folder = Path(spec.origin).parent / "data" / "fonts"
    return [(folder / f"Roboto-{style}.ttf").read_bytes() for style in ("Regular", "Bold")]


class TestHtml:
    def test_it_is_valid(self) -> None:
        """The strict parser of html5lib (the WHATWG parsing rules) finds no error."""
        html5lib.HTMLParser(strict=True).parse(report_html(made()))

    def test_nothing_is_fetched_and_no_script_runs(self) -> None:
        page = html5lib.parse(report_html(made(name=NASTY)), namespaceHTMLElements=False)
        tags = {element.tag for element in page.iter() if isinstance(element.tag, str)}
        assert tags.isdisjoint({"script", "img", "link", "iframe", "object", "a", "base", "form"})
        loud = {"src", "href", "srcset", "action", "data", "onload", "{http://www.w3.org/1999/xlink}href"}
        assert not [attribute for element in page.iter() for attribute in element.attrib if attribute in loud]
        style = page.find(".//style")
        assert style is not None
        assert "url(" not in style.text
        assert "@import" not in style.text
        policy = page.find(".//meta[@http-equiv='Content-Security-Policy']")
        assert policy is not None
        assert "default-src 'none'" in policy.get("content")

    def test_what_the_player_wrote_is_shown_as_it_is(self) -> None:
        page = html5lib.parse(report_html(made()), namespaceHTMLElements=False)
        assert NASTY in [heading.text for heading in page.iter("h2")]
        assert any(NASTY in "".join(p.itertext()) for p in page.iter("p"))

    def test_the_map_has_circles_and_squares(self) -> None:
        page = html5lib.parse(report_html(made()), namespaceHTMLElements=False)
        drawn = [element.tag.rpartition("}")[2] for element in page.iter() if isinstance(element.tag, str)]
        assert {"svg", "circle", "rect", "polygon", "polyline"} <= set(drawn)

    @settings(max_examples=20, deadline=None)
    @given(TEXTS, TEXTS)
    def test_it_is_valid_whatever_the_player_writes(self, name: str, idea: str) -> None:
        html5lib.HTMLParser(strict=True).parse(report_html(made(IdeaNoted("p", idea), name=name)))


class TestPdf:
    def test_it_opens_and_its_words_can_be_found(self) -> None:
        data = report_pdf(made(name="Ann"), *fonts())
        document = pypdfium2.PdfDocument(data)
        text = "".join(page.get_textpage().get_text_range() for page in document)
        assert "Practice report of Ann" in text
        assert "<script>" in text
        assert "Section A" in text
        document.close()

    def test_every_font_is_embedded(self) -> None:
        """A font without a file would be one of the fourteen standard ones (PDF 32000-1, 9.6.2.2)."""
        data = report_pdf(made(), *fonts())
        assert data.count(b"/Type /FontDescriptor") == data.count(b"/FontFile2") == 2
        assert b"/Subtype /Type1" not in data
        assert b"Helvetica" not in data

    def test_the_same_report_gives_the_same_bytes(self) -> None:
        assert report_pdf(made(), *fonts()) == report_pdf(made(), *fonts())

    def test_a_long_report_has_more_pages(self) -> None:
        many = [IdeaNoted("p", f"idea {number}") for number in range(200)]
        document = pypdfium2.PdfDocument(report_pdf(made(*many), *fonts()))
        assert len(document) > 4
        document.close()


class TestJson:
    def test_it_comes_back_equal(self) -> None:
        report = made(name="Ann")
        assert read_report(report_json(report), "ann.json") == report

    def test_it_is_plain_json(self) -> None:
        value = json.loads(report_json(made()))
        assert value["pieces"][0]["sections"][0]["melody"] == "settled"

    @pytest.mark.parametrize(
        "data",
        [
            b"",
            b"{",
            b"[]",
            b"null",
            b"{}",
            b"\xff",
            b"[" * 100_000,
            b'{"format":2}',
            b'{"format":"x"}',
            b"NaN",
        ],
    )
    def test_what_is_no_report_is_refused_in_one_sentence(self, data: bytes) -> None:
        with pytest.raises(InputError, match=r"“x\.json”"):
            read_report(data, "x.json")

    @given(st.recursive(st.none() | st.booleans() | st.floats() | st.text(), lambda p: st.lists(p) | st.dictionaries(st.sampled_from(["days", "pieces", "format", "where"]), p)))  # fmt: skip  # noqa: E501
    def test_no_file_whatever_breaks_the_reader(self, value: Any) -> None:
        try:
            read_report(json.dumps(value).encode(), "x.json")
        except InputError:
            return


class TestCsv:
    @settings(max_examples=50)
    @given(st.lists(events(), max_size=8))
    def test_it_reads_back_as_rfc_4180_has_it(self, told: list[Event]) -> None:
        data = log_csv(logged(told), {}).decode()
        rows = list(csv.reader(io.StringIO(data, newline=""), strict=True))
        assert tuple(rows[0]) == COLUMNS
        assert [len(row) for row in rows] == [len(COLUMNS)] * (len(told) + 1)
        assert data.count("\r\n") >= len(rows)
        for row in rows:
            assert not [cell for cell in row if cell[:1] in {"=", "+", "-", "@"}]

    @pytest.mark.parametrize("start", list("=+-@\t\r"))
    def test_what_a_spreadsheet_would_run_is_defused(self, start: str) -> None:
        assert defused(f"{start}cmd|' /C calc'!A0") == f"'{start}cmd|' /C calc'!A0"

    def test_times_and_sentences_are_in_it(self) -> None:
        log = list(logged([*begun(), TimeSpent("piece", 90.0, "p", "A", Stage.BASS)]))
        progress = fold_all(log)
        rows = list(csv.DictReader(io.StringIO(log_csv(log, titles_of(progress.pieces)).decode())))
        assert rows[0]["what"] == "“P” was taken in hand."
        assert (rows[-1]["minutes"], rows[-1]["section"], rows[-1]["day"]) == ("1.50", "A", "2026-03-02")


class TestCalendar:
    MADE = datetime(2026, 3, 4, 12, tzinfo=UTC)

    def parsed(self, **more: Any) -> Any:
        data = reminders(first=TODAY, at=time(18, 30), minutes=20, made=self.MADE, **more)
        assert data.endswith(b"END:VCALENDAR\r\n")
        # RFC 5545, 3.1: lines of at most 75 octets, ended by CR LF.
        assert all(len(line) <= 75 for line in data.split(b"\r\n"))
        calendar = icalendar.Calendar.from_ical(data)
        (event,) = calendar.walk("VEVENT")
        return event

    def test_it_repeats_every_day_with_an_alarm(self) -> None:
        event = self.parsed()
        assert not event.errors
        assert event["RRULE"].to_ical() == b"FREQ=DAILY"
        assert event.decoded("DTSTART") == datetime.combine(TODAY, time(18, 30))
        assert event.decoded("DURATION") == timedelta(minutes=20)
        assert event.decoded("DTSTAMP") == self.MADE
        (alarm,) = event.walk("VALARM")
        assert alarm.decoded("TRIGGER") == timedelta(minutes=-5)
        assert alarm["ACTION"] == "DISPLAY"
        assert alarm["DESCRIPTION"]

    def test_on_some_weekdays_it_starts_on_one_of_them(self) -> None:
        event = self.parsed(weekdays=(0, 2), until=TODAY + timedelta(days=30))
        assert event["RRULE"]["BYDAY"] == ["MO", "WE"]
        assert event.decoded("DTSTART").weekday() in {0, 2}
        assert event["RRULE"]["UNTIL"] == [datetime.combine(TODAY + timedelta(days=30), time(18, 30))]


class TestBuilding:
    def test_since_leaves_out_what_was_before(self) -> None:
        whole, part = made(), made(since=START.date() + timedelta(days=1))
        assert len(part.days) < len(whole.days)
        assert len(part.entries) < len(whole.entries)
        assert part.pieces == whole.pieces

    def test_too_many_entries_are_counted(self) -> None:
        report = made(*[IdeaNoted("p", "x")] * 400)
        assert len(report.entries) == MOST_ENTRIES
        assert report.more_entries > 100

    def test_it_tells_where_and_when(self) -> None:
        report = made()
        assert report.where is not None
        assert (report.where.section, report.where.stage) == ("A", Stage.TOGETHER)
        assert report.forecast is not None
        assert report.forecast.p10 <= report.forecast.p50 <= report.forecast.p90
        assert [piece.state for piece in report.pieces] == ["finished", "in hand"]
        assert report.pieces[0].pace[-1].share == 1.0


def luminance(colour: str) -> float:
    """WCAG 2.2, “relative luminance”."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("ink", [ink for ink in Ink if ink is not Ink.PAPER])
def test_colours_are_strong_enough_on_white(ink: Ink) -> None:
    contrast = 1.05 / (luminance(COLOURS[ink]) + 0.05)
    assert contrast >= (3.0 if ink is Ink.FAINT else 4.5)
    assert re.fullmatch(r"#[0-9a-f]{6}", COLOURS[ink])
