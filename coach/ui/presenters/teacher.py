"""The teacher's place: reports side by side, packs out, replies back."""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from typing_extensions import override

from coach.errors import CoachError
from coach.practice.progress import Progress
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.services import Services
from coach.sessions.teaching import (
    Answering,
    Learner,
    Learners,
    correction_of,
    learners_in,
    make_pack,
    note_at,
    same_piece,
    write_reply,
)
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.handed_in import path_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.teacher_view import (
    LearnerCard,
    Mode,
    PackForm,
    ReplyForm,
    TeacherView,
    learner_card,
    learners_sentence,
)
from coach.ui.presenters.view import Empty, Failed, Missing, Ready, Working

ALL_STAY = ""
WATCH = "Choose a folder: your learners put their reports (the .json file) into it, and you see them here."


@dataclass(frozen=True, slots=True)
class _Desk:
    """What was read: the learners, and what this device knows itself."""

    found: Learners
    progress: Progress
    with_recording: frozenset[str] = frozenset()


class TeacherPresenter(Presenter[TeacherView]):
    """Three pages: learners, a pack, a reply.

    Parameters
    ----------
    folder
        A folder to be watched from now on.
    """

    def __init__(
        self, services: Services, later: UiCalls, jobs: JobRunner, go: Go, folder: str | None = None
    ) -> None:
        super().__init__(later, Empty("The teacher's place is opening."))
        self._services, self._jobs, self._go = services, jobs, go
        self._folder = folder
        self._desk = _Desk(Learners(()), Progress())
        self._mode = Mode.LEARNERS
        self._said = self._wrong = ""
        self._piece, self._word, self._with_recording = "", "", False
        self._to: Learner | None = None
        self._answering, self._note = Answering(), ""

    # --- reading ------------------------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        settings = self._services.current_settings()
        if not settings.teacher:
            self._show(
                Missing("The teacher's place is switched off.", "Switch it on in Set-up.", "Open Set-up")
            )
            return
        folder, self._folder = self._folder, None
        if folder is not None:
            self.watch_folder(folder)
            return
        if settings.watched_folder is None:
            self._show(Empty(f"No folder is watched yet. {WATCH}", "Choose a folder or make a pack"))
            return
        self._read()

    @override
    def closed(self) -> None:
        self.cancel()

    def _read(self) -> None:
        self._show(Working("Reading the reports", None, can_cancel=False))
        self._job = self._jobs.start(self._gather, done=self._gathered, failed=self._unread)

    def _gather(self, _jobs: Jobs) -> _Desk:
        folder = self._services.current_settings().watched_folder
        with closing(self._services.read_log()) as log:
            progress = log.progress()
        library = {each.piece for each in self._services.library().pieces() if each.recording is not None}
        found = Learners(()) if folder is None else learners_in(self._services, path_of(folder))
        return _Desk(found, progress, frozenset(library))

    def _gathered(self, desk: _Desk) -> None:
        self._desk, self._mode = desk, Mode.LEARNERS
        self._turn()

    def _unread(self, error: CoachError) -> None:
        self._show(Failed("The reports could not be read.", error.message, "Choose another folder"))

    # --- going between the pages --------------------------------------------------------------------------

    @override
    def act(self) -> None:
        """The page's one action; from a notice: the way on."""
        match self._view:
            case Ready(TeacherView(mode=Mode.LEARNERS)):
                self._open(Mode.PACK)
            case Ready(TeacherView(mode=Mode.PACK)):
                self._make_pack()
            case Ready(TeacherView(mode=Mode.REPLY)):
                self._write_reply()
            case Missing():
                self._go("setup", card="lessons")
            case Empty():
                self._read()
            case _:
                self._open(Mode.LEARNERS)

    def act_second(self) -> None:
        """Read the folder again, or go back to the learners."""
        if self._mode is Mode.LEARNERS:
            self._said = self._wrong = ""
            self._read()
        else:
            self._open(Mode.LEARNERS)

    def _open(self, mode: Mode) -> None:
        self._mode, self._said, self._wrong = mode, "", ""
        self._turn()

    def look_for_folder(self) -> None:
        """Look for the folder to watch."""
        folder = self._services.current_settings().watched_folder
        self._go("files", want="reports", **({"folder": folder} if folder else {}))

    def watch_folder(self, text: str) -> None:
        """Watch another folder."""
        folder = str(path_of(text)) if text.strip() else None
        try:
            self._services.settings().save(replace(self._services.current_settings(), watched_folder=folder))
        except CoachError as error:
            self._show(Failed("The folder could not be kept.", error.message))
            return
        self._said = self._wrong = ""
        self._read()

    # --- a pack -------------------------------------------------------------------------------------------

    def choose_piece(self, piece: str) -> None:
        """The piece that is handed out."""
        self._piece = piece
        self._turn()

    def choose_recording(self, word: str) -> None:
        """Whether the recording goes along."""
        self._with_recording = word == "yes"
        self._turn()

    def type_word(self, text: str) -> None:
        """What the teacher says; kept while it is typed."""
        self._word = text

    def _make_pack(self) -> None:
        piece, word = self._chosen_piece(), self._word
        if not piece:
            self._open(Mode.LEARNERS)
            return
        sound = self._with_recording and piece in self._desk.with_recording
        self._work(
            "Writing the pack",
            lambda: make_pack(self._services, piece, word=word, with_recording=sound),
            "The pack is here: {}. Send it to your learners; they open it in Set-up.",
        )

    def _chosen_piece(self) -> str:
        pieces = self._desk.progress.pieces
        if self._piece in pieces:
            return self._piece
        return self._desk.progress.in_hand or next(iter(pieces), "")

    def _pack_form(self) -> PackForm:
        pieces = self._desk.progress.pieces
        chosen = self._chosen_piece()
        facts = ""
        if chosen:
            state = pieces[chosen]
            notes = f"{state.notes_found} notes of both lines" if state.notes_found else "no lines yet"
            facts = f"{len(state.sections)} sections, {notes}. Learners never see your lines."
        return PackForm(
            tuple((each.piece, each.title) for each in pieces.values()),
            chosen,
            self._word,
            self._with_recording,
            chosen in self._desk.with_recording,
            facts,
        )

    # --- a reply ------------------------------------------------------------------------------------------

    def begin_reply(self, file: str) -> None:
        """Answer the learner of a report."""
        self._to = next((each for each in self._desk.found.learners if each.row.file == file), None)
        if self._to is not None:
            self._answering, self._note, self._word = Answering(), "", ""
            self._open(Mode.REPLY)

    def choose_without(self, section: str) -> None:
        """Leave a section out, or let all stay."""
        self._answer(replace(self._answering, without=None if section == ALL_STAY else section))

    def choose_change(self, word: str) -> None:
        """Allow one more change of a line that is good enough, or not."""
        self._answer(replace(self._answering, one_more_change=word == "yes"))

    def choose_line(self, line: str) -> None:
        """The line that the corrected note is in."""
        self._answer(replace(self._answering, line=line))

    def type_note(self, text: str) -> None:
        """The corrected note; kept while it is typed."""
        self._note = text

    def _answer(self, answering: Answering) -> None:
        self._answering, self._wrong = answering, ""
        self._turn()

    def _write_reply(self) -> None:
        to = self._to
        if to is None:
            return
        try:
            answering = self._answered(to)
        except CoachError as error:
            self._wrong = error.message
            self._turn()
            return
        today = self._services.clock.today()
        self._work(
            "Writing the reply",
            lambda: write_reply(self._services, to.row, answering, today),
            f"The reply is here: {{}}. Send it to {to.row.name}, who opens it in Set-up.",
        )

    def _answered(self, to: Learner) -> Answering:
        answering = replace(self._answering, word=self._word)
        piece = same_piece(self._desk.progress, to.row.title)
        if piece is None or not self._note.strip():
            return answering
        return replace(answering, note=note_at(piece, correction_of(self._note)))

    def _reply_form(self, to: Learner) -> ReplyForm:
        card = learner_card(to.row)
        return ReplyForm(
            to.row.name,
            f"{card.where}. {card.since}".removesuffix(". "),
            self._word,
            ((ALL_STAY, "all stay"), *((name, f"without section {name}") for name in to.untouched)),
            self._answering.without or ALL_STAY,
            self._answering.one_more_change,
            self._answering.line,
            self._note,
            same_piece(self._desk.progress, to.row.title) is not None,
        )

    # --- showing ------------------------------------------------------------------------------------------

    def _work(self, what: str, work: Callable[[], Path], said: str) -> None:
        """Write a file in a job, then go back to the learners and say where it is."""

        def done(path: Path) -> None:
            self._mode, self._said, self._wrong, self._word = Mode.LEARNERS, said.format(path), "", ""
            self._turn()

        def failed(error: CoachError) -> None:
            self._wrong = error.message
            self._turn()

        self._show(Working(what, None, can_cancel=False))
        self._job = self._jobs.start(lambda _jobs: work(), done=done, failed=failed)

    def _turn(self) -> None:
        self._show(Ready(replace(self._page(), said=self._said, wrong=self._wrong)))

    def _page(self) -> TeacherView:
        match self._mode:
            case Mode.PACK:
                form = self._pack_form()
                if not form.pieces:
                    sentence = "There is no piece here to hand out yet: take one in hand first, from Today."
                    return TeacherView(self._mode, sentence, "Back", "")
                return TeacherView(self._mode, "Which piece goes out?", "Make the pack", "Back", pack=form)
            case Mode.REPLY if self._to is not None:
                sentence = f"What do you answer {self._to.row.name}?"
                return TeacherView(
                    self._mode, sentence, "Write the reply", "Back", reply=self._reply_form(self._to)
                )
            case _:
                return self._learners_page()

    def _learners_page(self) -> TeacherView:
        folder = self._services.current_settings().watched_folder
        found = self._desk.found
        cards: tuple[LearnerCard, ...] = tuple(learner_card(each.row) for each in found.learners)
        sentence = learners_sentence(found) if folder is not None else WATCH
        return TeacherView(
            Mode.LEARNERS, sentence, "Make a pack", "Read again", folder or "", cards, found.troubles
        )
