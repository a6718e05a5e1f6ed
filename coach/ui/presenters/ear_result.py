"""What an ear set brought: what got surer, and what comes next."""

from collections.abc import Mapping
from datetime import datetime

from coach.practice.days import SkillSummary
from coach.practice.progress import Progress
from coach.ui.presenters.ear_plan import EarPlan
from coach.ui.presenters.ear_run import SetRun

CAUTION = (
    "Start quiet, and keep headphones to a level at which you can still hear someone talk. Sing only where "
    "it is comfortable, and stop when voice, hand or wrist hurts."
)
MOST_TOMORROW = 4
"""So many of tomorrow's drills are named."""
REST_AFTER_S = 25 * 60.0
REST = "You have practised for a while: rest your hands and ears for five minutes."
"""Five minutes in every half hour, as the product's cautions have it."""


def result_words(
    plan: EarPlan, before: Mapping[str, SkillSummary], after: Progress, run: SetRun, now: datetime
) -> str:
    """The set in sentences: how many were right, which drills got surer, what comes tomorrow."""
    counted = "1 drill" if run.asked == 1 else f"{run.asked} drills"
    sentences = [f"That was today's ear set: {counted}, {run.right} right."]
    if run.waiting:
        sentences.append(f"Its minutes are used up; {run.waiting} more can wait until tomorrow.")
    surer = _surer(plan, before, after)
    if surer:
        sentences.append(f"Surer than before: {'; '.join(surer)}.")
    sentences.append(_tomorrow(plan, after, now))
    if after.current is not None and after.current.practice_s > REST_AFTER_S:
        sentences.append(REST)
    return "\n".join(sentences)


def _surer(plan: EarPlan, before: Mapping[str, SkillSummary], after: Progress) -> list[str]:
    """Titles of the drills of which a skill's level or sureness has risen, in order of the set."""
    titles: list[str] = []
    for item in plan.set.items:
        text = item.skill.text
        new, old = after.skills.get(text), before.get(text, SkillSummary(text))
        if new is None:
            continue
        risen = new.level > old.level or (new.sureness or 0.0) > (old.sureness or 0.0)
        title = plan.title(item).lower().rstrip("?")
        if risen and title not in titles:
            titles.append(title)
    return titles


def _tomorrow(plan: EarPlan, after: Progress, now: datetime) -> str:
    """What tomorrow's set would be, drill by drill."""
    met = {text.split(":")[0] for text in after.schedule.cards}
    titles: list[str] = []
    for item in plan.tomorrow(after.schedule, now).items:
        new = "" if item.skill.key.drill in met else " (new)"
        title = plan.title(item).lower().rstrip("?") + new
        if title not in titles:
            titles.append(title)
    if not titles:
        return "Nothing has to come again tomorrow."
    shown, more = titles[:MOST_TOMORROW], len(titles) - MOST_TOMORROW
    return f"Tomorrow: {'; '.join(shown)}{f'; and {more} more' if more > 0 else ''}."
