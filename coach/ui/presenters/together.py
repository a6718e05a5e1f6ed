"""Together: both lines of a section on the neck, onset by onset, and the smallest change where needed."""

from dataclasses import replace
from fractions import Fraction

from typing_extensions import override

from coach.fretboard import (
    Blocked,
    Explorer,
    FingeredNote,
    Fingering,
    Wishes,
    chosen_places,
    difficulty,
)
from coach.notation import Arrangement, LineKind, Place
from coach.practice.events import IdeaNoted
from coach.sessions.piece.material import section_of
from coach.sessions.piece.neck_exploring import Exploring, Sight
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.device_watch import NO_SOUND
from coach.ui.presenters.neck_of_two import hand_at, neck_of_two, note_choice, option_at, refusal
from coach.ui.presenters.neck_sound import NeckSound
from coach.ui.presenters.neck_words import bar_words, cost_words, way_words
from coach.ui.presenters.piece_view import strip_of
from coach.ui.presenters.together_view import (
    THIRD_NOTE,
    Sounding,
    TogetherView,
    Tool,
    action_of,
    beat_words,
    offer_words,
    on_screen,
    sentence_of,
)
from coach.ui.presenters.together_wishing import WishingPresenter
from coach.ui.presenters.view import Empty, Ready

WAYS_SHOWN = 3


class TogetherPresenter(WishingPresenter):
    """One section on the neck."""

    def __init__(self, room: PracticeRoom, section: str, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        super().__init__(room, section, later, jobs, go)
        self._sound = NeckSound(room)
        self._time = Fraction(0)
        self._kind = LineKind.MELODY
        self._best: tuple[Explorer, tuple[Fingering, ...]] | None = None

    # --- opening, looking, leaving ------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        section = self._state
        if section is None or not (section.melody.notes and section.bass.notes):
            self._show(Empty("Both lines of the section come first.", "To the piece"))
            return
        self._time = self._desk.arrangement.onsets()[0]
        self._sight, self._before = None, []
        self._look(self._desk.wishes)

    @override
    def _opening_words(self, sight: Sight) -> str:
        """What could not stay where the player found it."""
        if sight.shown is None or sight.offers or sight.wishes != Wishes():
            return ""
        fingering = sight.shown.fingering
        wanted = chosen_places(self._desk.arrangement).notes
        count = sum(fingering.at(wish.note).place != wish.place for wish in wanted)
        return f"Not all notes can stay where you found them: {count} moved." if count else ""

    @override
    def closed(self) -> None:
        self.cancel()
        self._sound.stop()

    # --- the one action -----------------------------------------------------------------------------------

    @override
    def _act(self) -> None:
        """Agree to the change that is shown; good enough for now: on to playing it."""
        sight = self._sight
        if self._searching:
            self.cancel()
        elif sight is not None and sight.shown is not None and not sight.agreed:
            self._change(replace(sight, agreed=True), "Agreed. You can take it back.")
        elif sight is not None and sight.shown is not None:
            shown = sight.shown
            self._guarded(lambda: self._settle(shown))

    def _settle(self, shown: Exploring) -> None:
        way = shown.way
        self._desk.settle(way)
        self._desk.keep(shown.wishes)
        tuning = way.fingering.neck.tuning.strings
        if tuning != self._settings.tuning:
            self._room.services.settings().save(replace(self._settings, tuning=tuning))
        self._go("play", section=self._section)

    # --- where we are -------------------------------------------------------------------------------------

    def step(self, by: int) -> None:
        """To another onset."""
        onsets = self._lines.onsets()
        at = min(range(len(onsets)), key=lambda index: abs(onsets[index] - self._time))
        self._time, self._said = onsets[min(max(0, at + by), len(onsets) - 1)], ""
        self._refresh()

    def choose_moment(self, kind: LineKind, time: Fraction) -> None:
        """To the onset nearest to a tap on the strip, and the note of the line tapped."""
        self._time = min(self._lines.onsets(), key=lambda onset: abs(onset - time))
        self._kind, self._said = kind, ""
        self._refresh()

    def choose_line(self, kind: str) -> None:
        """The note of a line is the one in question."""
        self._kind, self._said = LineKind(kind), ""
        self._refresh()

    def open_tool(self, tool: str) -> None:
        """Open a group of controls."""
        self._tool = Tool(tool)
        self._refresh()

    # --- moving notes -------------------------------------------------------------------------------------

    def tap(self, string: int, fret: int) -> None:
        """Ask about the note there, or move the one that lies there, too; a third note is refused, kindly."""
        shown, place = self._shown, Place(string, fret)
        if shown is None:
            return
        notes = self._now()
        here = next((note for note in notes if note.place == place), None)
        if here is not None:
            self._kind, self._tool, self._said = here.line, Tool.NOTE, ""
        else:
            self._move_one_of(shown, notes, place)
        self._refresh()

    def drag(self, kind: LineKind, string: int, fret: int) -> None:
        """The note of a line was dragged to a place."""
        shown, place = self._shown, Place(string, fret)
        notes = tuple(note for note in self._now() if note.line is kind)
        if shown is not None and notes and notes[0].place != place:
            if option_at(shown, notes, place) is None:
                self._said = "That place has another note: its own places are the hollow ones."
            else:
                self._move_one_of(shown, notes, place)
        self._refresh()

    def _move_one_of(self, shown: Exploring, notes: tuple[FingeredNote, ...], place: Place) -> None:
        found = option_at(shown, notes, place)
        if found is None:
            self._refuse(place)
            return
        note, option = found
        self._kind = note.line
        wishes = shown.moved_wishes(note.name, place)
        if option.extra is not None:
            self._become(shown, wishes)
        elif len(between := shown.against(wishes)) > 1:
            self._ask(wishes, between)
        else:
            span_mm = shown.fingering.neck.reach.spans.index_little
            self._said = on_screen(refusal(note, option, self._settings, span_mm))

    def choose_finger(self, finger: str) -> None:
        """Another finger for the note in question."""
        shown, note = self._shown, self._chosen()
        if shown is not None and note is not None and note.finger is not None:
            self._become(shown, shown.fingered_wishes(note.name, int(finger)), moved=0)
        self._refresh()

    def _become(self, shown: Exploring, wishes: Wishes, moved: int = 1) -> None:
        """Show what becomes of a move, and what it costs; or which wishes stand against it."""
        sight = self._sight
        if sight is None or wishes == shown.wishes:
            return
        after = shown.wishing(wishes)
        if isinstance(after, Blocked):
            between = shown.against(wishes)
            if len(between) > 1:
                self._ask(wishes, between)
            else:
                self._said = on_screen(next((conflict.reason for conflict in after.conflicts), ""))
            return
        said = cost_words(shown.fingering, after.fingering, after.arrangement, moved)
        self._change(sight.now(after), said)

    def _refuse(self, place: Place) -> None:
        self._said = THIRD_NOTE
        piece = self._piece
        text = f"A third note in section {self._section}: string {place.string}, fret {place.fret}"
        if text not in piece.ideas:
            self._room.journal.write(IdeaNoted(piece.piece, text))

    # --- ways, wishes, changes ----------------------------------------------------------------------------

    def choose_way(self, way: str) -> None:
        """Show another of the best ways."""
        shown, sight = self._shown, self._sight
        if shown is not None and sight is not None:
            fingering = self._ways(shown)[int(way)]
            said = cost_words(shown.fingering, fingering, shown.arrangement, 0)
            self._change(sight.now(shown.showing(fingering)), said)

    def choose_offer(self, offer: str) -> None:
        """Look at another change; nothing is changed by looking."""
        if self._sight is not None:
            self._change(self._sight.offered(int(offer)), "")

    # --- sound --------------------------------------------------------------------------------------------

    def hear(self, what: Sounding) -> None:
        """Hear the way that is shown, or the lines as they are written; once more stops it."""
        lines = self._lines if what is Sounding.WAY else self._desk.arrangement
        section = section_of(self._piece, self._section)
        if not self._sound.play_or_stop(what, lines, section, self._settings.a4_hz):
            self._said = NO_SOUND
        self._refresh()

    def set_speed(self, speed: str) -> None:
        """Slower or faster, from the next time on."""
        self._sound.speed = float(speed)
        self._refresh()

    def look_up(self) -> None:
        """Notice that the sound has ended; the screen asks now and then."""
        if self._sound.over:
            self._sound.stop()
            self._refresh()

    # --- the view -----------------------------------------------------------------------------------------

    def _now(self) -> tuple[FingeredNote, ...]:
        """The notes that sound at the moment shown, the one in question first."""
        notes = self._shown.sounding(self._time) if self._shown is not None else ()
        return tuple(sorted(notes, key=lambda note: note.line is not self._kind))

    def _chosen(self) -> FingeredNote | None:
        return next(iter(self._now()), None)

    def _ways(self, shown: Exploring) -> tuple[Fingering, ...]:
        if self._best is None or self._best[0] is not shown.explorer:
            self._best = (shown.explorer, shown.best(WAYS_SHOWN))
        return self._best[1]

    @override
    def _refresh(self) -> None:
        sight = self._sight
        if sight is None or isinstance(self._view, Empty):
            return
        piece, section, lines = self._piece, section_of(self._piece, self._section), self._lines
        note = self._chosen()
        kind = note.line if note is not None else self._kind
        chosen = (kind, self._time)
        view = TogetherView(
            title=f"Section {self._section}: both lines on the neck",
            sentence=sentence_of(sight),
            neck=neck_of_two(sight.shown, self._time, kind, self._settings, lines.capo),
            strip=strip_of(piece, section, lines.lines, self._settings.naming, {}, chosen),
            moment=self._moment_words(lines),
            said=self._said,
            action="Stop looking" if self._searching else action_of(sight),
            tool=self._tool,
            offers=tuple(offer_words(way) for way in sight.offers),
            offer=sight.offer if sight.offers else None,
            blocked=tuple(map(on_screen, sight.blocked)),
            below_fret=sight.wishes.below_fret,
            no_barre=sight.wishes.no_barre,
            can_take_back=self._can_take_back,
            reach=self._desk.hand.reach.word,
            kept=self._words_of(self._kept_one_by_one()),
            clash=self._clash_said(sight),
            sounding=self._sound.what,
            speed=self._sound.speed,
        )
        self._show(Ready(self._with_details(view, sight.shown)))

    def _with_details(self, view: TogetherView, shown: Exploring | None) -> TogetherView:
        """What only the open group needs, and how hard the bar is."""
        if shown is None:
            return view
        bar = shown.arrangement.bar_of(self._time)
        hard = [each for each in difficulty(shown.fingering, shown.arrangement) if each.bar == bar]
        view = replace(view, bar=bar_words(hard[0]) if hard else "")
        if self._tool is Tool.NOTE and (note := self._chosen()) is not None:
            return replace(view, note=note_choice(shown, note, self._time, self._settings))
        if self._tool is Tool.WAYS:
            ways, naming = self._ways(shown), self._settings.naming
            seen = [way.visible for way in ways]
            here = shown.fingering.visible
            words = tuple(way_words(way, ways[0], shown.arrangement, naming) for way in ways)
            return replace(view, ways=words, way=seen.index(here) if here in seen else None)
        return view

    def _moment_words(self, lines: Arrangement) -> str:
        where = beat_words(lines, self._time)
        if self._shown is None:
            return f"{where}."
        hand = hand_at(self._shown, self._time)
        return f"{where}." if hand is None else f"{where}. First finger at fret {hand}."
