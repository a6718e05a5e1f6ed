from dataclasses import replace
from datetime import timedelta

from coach.practice.stages import Stage
from coach.reports.side_by_side import side_by_side
from tests.reports.test_reports import TODAY, made


def test_the_stuck_come_first_and_the_longest_waiting_on_top() -> None:
    report = made()
    assert report.where is not None
    stuck = replace(report.where, stuck=True)
    longer = replace(stuck, since=stuck.since - timedelta(days=5))
    rows = side_by_side(
        [
            ("zoe.json", report),
            ("bob.json", replace(report, where=stuck)),
            ("carl.json", replace(report, where=longer, name="Carl C.")),
            ("amy.json", replace(report, where=None)),
        ]
    )
    assert [row.name for row in rows] == ["Carl C.", "bob", "zoe", "amy"]
    first = rows[0]
    assert (first.section, first.stage, first.since) == ("A", Stage.TOGETHER, longer.since)
    assert (first.piece, first.settled_share, first.aim) == ("p", 2 / 8, TODAY + timedelta(days=30))
    assert rows[3].stage is None


def test_an_empty_report_has_a_row_too() -> None:
    empty = replace(made(), pieces=(), days=(), where=None, forecast=None, name="")
    (row,) = side_by_side([("new.json", empty)])
    assert (row.name, row.piece, row.last_day, row.p50, row.stuck) == ("new", None, None, None, False)
