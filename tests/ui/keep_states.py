"""The screens on which what was made is kept, each in its five states."""

from coach.ui.presenters.keep import Asking, KeepView
from coach.ui.presenters.remind import RemindView
from coach.ui.presenters.weekdays import COUNTED_ON
from tests.ui.case import Case, five, page_of

FOLDER = "/home/alma/Documents/Two-Line Coach"
KEPT_SAFE = KeepView(
    "Your last back-up is of 20 December, 17 days ago.",
    "Back up now",
    "Back to the log",
    FOLDER,
    usual=False,
    said=f"Everything is in one file: {FOLDER}/two-line-coach-2026-01-06.zip (312.4 MB). Copy it to a stick "
    "or another device: what lies only on this one is lost with it.",
    go_back="/data/backups/before-restore-20260104-190210.zip",
    before=(("/b", "What was here before 4 January, 19:02"), ("/c", "What was here before 2 January, 08:11")),
)
ASKED = KeepView(
    "Put this back-up in the place of what is here?",
    "Put it in place",
    "Leave everything as it is",
    asking=Asking(
        "“two-line-coach-2025-12-20.zip”, made on 20 December, 298.1 MB.",
        "It holds 2 pieces (“Morning by the Canal”, “Ferry bell”) and 1834 entries, the last of 20 December, "
        "18:04.",
        "Here now: 1 piece (“Evening at the lock”) and 12 entries, the last of 5 January, 20:10. "
        "All of it is backed up first, so that you can go back.",
    ),
)
REMINDED = RemindView(
    (0, 2, 4),
    f"You mean to practise every Monday, Wednesday and Friday. {COUNTED_ON}",
    "18:30",
    f"The reminders are here: {FOLDER}/practice-reminders.ics. Open it with your calendar: it reminds you "
    "every Monday, Wednesday and Friday at 18:30, until your aim on 12 December. "
    "Reminders you took over before stay there until you delete them.",
)

KEEP_CASES: dict[str, Case] = {
    "keep": Case(
        page_of("keep", "KeepPage"),
        five(
            KEPT_SAFE,
            empty="Looking how safe it is.",
            work="Backing up",
            missing=("The stick is gone.", "Plug it in again."),
            failed=("What is here cannot be read.", "Put a back-up in its place."),
        ),
    ),
    "keep: asked": Case(
        page_of("keep", "KeepPage"),
        five(
            ASKED,
            empty="Looking how safe it is.",
            work="Checking the back-up",
            missing=("The stick is gone.", "Plug it in again."),
            failed=("What is here cannot be read.", "Put a back-up in its place."),
        ),
    ),
    "remind": Case(
        page_of("remind", "RemindPage"),
        five(
            REMINDED,
            empty="Looking up your days.",
            work="Writing the calendar file",
            missing=("The stick is gone.", "Plug it in again."),
            failed=("Your choice could not be kept.", "The disk is full: make room on it."),
        ),
    ),
}
