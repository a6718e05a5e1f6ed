"""How commands speak."""

from io import StringIO

from coach.cli.output import Output, TextProgress


def test_progress_is_told_once_a_tenth_and_for_each_thing_done() -> None:
    messages = StringIO()
    jobs = TextProgress(Output(json_mode=False, to=StringIO(), messages=messages))
    for step in range(101):
        jobs.progress(step / 100, "Listening")
    for share in (0.0, 0.05, 0.3, 0.35):
        jobs.progress(share, "Finding the beat")
    told = messages.getvalue().splitlines()
    assert told[:11] == [f"Listening: {10 * tenth}%" for tenth in range(11)]
    assert told[11:] == ["Finding the beat: 0%", "Finding the beat: 30%"]
