"""Together: both lines of a section on the neck, onset by onset, and the smallest change where needed."""

from dataclasses import dataclass
from fractions import Fraction

from typing_extensions import override

from coach.errors import CoachError
from coach.fretboard import FingeredNote, Wishes
from coach.fretboard.wishes import NoteWish
from coach.music.naming import screen_name
from coach.notation import LineKind, Place
from coach.pieces.changes import Mended, Proposal
from coach.practice.events import IdeaNoted
from coach.practice.piece_state import Cell, PieceState
from coach.sessions.piece.material import section_of
from coach.sessions.piece.neck_desk import Hand, NeckDesk
from coach.sessions.ports import Jobs, Sound, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.tones.lines import arrangement_sound
from coach.ui.context import Go
from coach.ui.presenters.drawn import NeckNote, NeckView, OtherPlace, StripView
from coach.ui.presenters.jobs import Job, JobRunner
from coach.ui.presenters.piece_view import NECK_FRETS, places_of, string_names, strip_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working

PLAY_BPM = 60.0


@dataclass(frozen=True, slots=True)
class TogetherView:
    """Both lines at one moment.

    Parameters
    ----------
    sentence
        How the section can be played.
    changes
        What is changed, a sentence each; empty as written.
    ways
        Words of the ways to choose from, the easiest first.
    way
        Which one is shown.
    blocked
        Why the lines cannot be played as they are.
    moment
        Words of the moment shown.
    """

    title: str
    sentence: str
    neck: NeckView
    strip: StripView
    moment: str
    changes: tuple[str, ...] = ()
    ways: tuple[str, ...] = ()
    way: int = 0
    blocked: tuple[str, ...] = ()
    said: str = ""
    playing: bool = False
    settled: bool = False
    can_settle: bool = True


class TogetherPresenter(Presenter[TogetherView]):
    """One section on the neck."""

    def __init__(self, room: PracticeRoom, section: str, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        super().__init__(later, Working("Looking for the easiest way to play it", None))
        self._room, self._section, self._jobs, self._go = room, section, jobs, go
        self._settings = room.services.current_settings()
        self._desk = NeckDesk(room.journal, Hand.of(self._settings), section)
        self._mended: Mended | None = None
        self._wishes = Wishes()
        self._way = 0
        self._moment = 0
        self._said = ""
        self._job: Job | None = None
        self._sound: Sound | None = None

    @override
    def opened(self) -> None:
        piece = self._room.journal.progress.piece
        section = piece.section(self._section) if piece is not None else None
        if section is None or not (section.melody.notes and section.bass.notes):
            self._show(Empty("Both lines of the section come first.", "To the piece"))
            return
        self._solve()

    @override
    def closed(self) -> None:
        self.cancel()
        self._silence()

    @override
    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    @override
    def act(self) -> None:
        """Good enough for now: on to playing it."""
        match self._view:
            case Empty():
                self._go("piece")
            case Failed():
                self._solve()
            case _:
                self._settle()

    def _settle(self) -> None:
        way = self._proposal
        if way is None:
            return
        try:
            self._desk.settle(way)
        except CoachError as error:
            self._said = error.message
            self._refresh()
            return
        self._go("play", section=self._section)

    def step(self, by: int) -> None:
        """To another onset."""
        way = self._proposal
        if way is not None:
            self._moment = min(max(0, self._moment + by), len(way.fingering.hand) - 1)
            self._refresh()

    def choose_moment(self, _kind: LineKind, time: Fraction) -> None:
        """To the onset nearest to a tap on the strip."""
        way = self._proposal
        if way is not None:
            onsets = [hand.onset for hand in way.fingering.hand]
            self._moment = min(range(len(onsets)), key=lambda i: abs(onsets[i] - time))
            self._refresh()

    def choose_way(self, way: int) -> None:
        """Show another way to play it."""
        self._way, self._moment = way, min(self._moment, 0)
        self._refresh()

    def tap(self, string: int, fret: int) -> None:
        """Move the note that lies there, too, to that place; a third note is refused, kindly."""
        here = [note for note in self._now() if Place(string, fret) in self._other_places(note)]
        if here:
            self._wishes = self._wishes.with_note(NoteWish(here[0].name, Place(string, fret)))
            self._said = ""
            self._solve()
            return
        if Place(string, fret) not in [note.place for note in self._now()]:
            self._said = "Two notes at once are the limit: a third one is on the list for next time."
            piece = self._room.journal.progress.piece
            if piece is not None:
                text = f"A third note in section {self._section}: string {string}, fret {fret}"
                if text not in piece.ideas:
                    self._room.journal.write(IdeaNoted(piece.piece, text))
            self._refresh()

    def forget_wishes(self) -> None:
        """Back to the easiest way of all."""
        self._wishes = Wishes()
        self._solve()

    def play_or_stop(self) -> None:
        """Hear the way that is shown."""
        output, way = self._room.loudspeaker(), self._proposal
        if self._playing:
            self._silence()
        elif output is not None and way is not None:
            state = section_of(self._desk_piece, self._section)
            rate_hz = output.rate_hz
            sound = arrangement_sound(
                way.arrangement, rate_hz, tempo_bpm=PLAY_BPM, start=state.onset, end=state.end
            )
            self._sound = output.play(sound, rate_hz)
        self._refresh()

    def _silence(self) -> None:
        if self._sound is not None:
            self._sound.stop()
            self._sound = None

    @property
    def _playing(self) -> bool:
        return self._sound is not None and self._sound.playing

    def _solve(self) -> None:
        self._job = self._jobs.start(
            self._ways, done=self._solved, failed=self._failed, progress=self._working
        )

    def _ways(self, _jobs: Jobs) -> Mended:
        return self._desk.ways(self._wishes)

    def _solved(self, mended: Mended) -> None:
        self._mended, self._way = mended, 0
        if self._wishes.notes and not mended.as_written:
            self._said = "That place needs a change: look at what it would take, or take the wish back."
        self._refresh()

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))

    def _failed(self, error: CoachError) -> None:
        self._show(Failed("No fingering could be found.", error.message))

    @property
    def _proposals(self) -> tuple[Proposal, ...]:
        mended = self._mended
        if mended is None or mended.best is None:
            return ()
        return (mended.best, *mended.alternatives)

    @property
    def _proposal(self) -> Proposal | None:
        ways = self._proposals
        return ways[self._way] if self._way < len(ways) else None

    @property
    def _desk_piece(self) -> PieceState:
        piece = self._room.journal.progress.piece
        if piece is None:
            raise ValueError("the page is open without a piece")
        return piece

    def _now(self) -> tuple[FingeredNote, ...]:
        """The notes that sound at the moment shown."""
        way = self._proposal
        if way is None:
            return ()
        time = way.fingering.hand[self._moment].onset
        return tuple(n for n in way.fingering.notes if n.note.onset <= time < n.note.end)

    def _other_places(self, note: FingeredNote) -> tuple[Place, ...]:
        capo = self._capo
        places = (Place(*place) for place in places_of(note.note.midi, self._settings, capo))
        return tuple(place for place in places if place != note.place)

    def _refresh(self) -> None:
        mended, way = self._mended, self._proposal
        if mended is None:
            return
        piece, section = self._desk_piece, section_of(self._desk_piece, self._section)
        blocked = tuple(conflict.reason for conflict in mended.blocked)
        arrangement = way.arrangement if way is not None else self._desk.arrangement
        time = way.fingering.hand[self._moment].onset if way is not None else section.onset
        chosen = (LineKind.MELODY, time)
        self._show(
            Ready(
                TogetherView(
                    title=f"Section {self._section}: both lines on the neck",
                    sentence=_sentence(way),
                    neck=self._neck(),
                    strip=strip_of(piece, section, arrangement.lines, self._settings.naming, {}, chosen),
                    moment=self._moment_words(),
                    changes=tuple(change.detail for change in way.changes) if way is not None else (),
                    ways=tuple(_way_words(each) for each in self._proposals),
                    way=self._way,
                    blocked=blocked,
                    said=self._said,
                    playing=self._playing,
                    settled=section.together is Cell.SETTLED,
                    can_settle=way is not None,
                )
            )
        )

    def _neck(self) -> NeckView:
        notes, others = [], []
        for each in self._now():
            name = screen_name(each.note.pitch, self._settings.naming)
            place = each.place
            notes.append(NeckNote(each.line, place.string, place.fret, name, each.finger, each.right_hand))
            others += [OtherPlace(each.line, at.string, at.fret) for at in self._other_places(each)]
        names = string_names(self._settings, self._capo)
        return NeckView(names, tuple(notes), tuple(others), self._capo, NECK_FRETS)

    def _moment_words(self) -> str:
        way = self._proposal
        if way is None:
            return ""
        hand = way.fingering.hand[self._moment]
        bar = way.arrangement.bar_of(hand.onset)
        beat = (hand.onset - way.arrangement.bar_start(bar)) / way.arrangement.meter.beat + 1
        return f"Bar {bar}, beat {_beat_words(beat)}. First finger at fret {hand.position}."

    @property
    def _capo(self) -> int:
        way = self._proposal
        return way.arrangement.capo if way is not None else 0


def _beat_words(beat: Fraction) -> str:
    whole, rest = divmod(beat, 1)
    return f"{whole}" if not rest else f"{whole} and {rest}"


def _sentence(way: Proposal | None) -> str:
    if way is None:
        return "Your hand cannot play these lines as they are, and no change within reach mends it."
    if not way.changes:
        return "Your hand can play both lines as you wrote them."
    return "With this change your hand can play both lines."


def _way_words(way: Proposal) -> str:
    return ", ".join(change.detail for change in way.changes) or "As written"
