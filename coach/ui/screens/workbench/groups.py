"""The workbench's groups of controls: those of the step of now, and the folded ones."""

from collections.abc import Callable
from dataclasses import dataclass

from kivy.uix.widget import Widget

from coach.pieces.capture import Feel
from coach.sessions.ports import Emphasis
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_view import (
    CHECK_ALL,
    EMPHASIS_WORDS,
    FEEL_WORDS,
    SPEEDS,
    Step,
    WorkbenchView,
    speed_words,
)
from coach.ui.theme import Look
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Flow
from coach.ui.widgets.piano_keys import PianoKeys
from coach.ui.widgets.text import quiet

SOUND, CHANGE, KEYS, MORE = "Speed and loudness", "Change notes", "Piano keys", "More"
PHRASE = "Sing or play the phrase"
PLAYS = frozenset({"Listen", "Stop"})


@dataclass(frozen=True, slots=True)
class Control:
    """A button to be: its words, what it does, how loud it is."""

    words: str
    do: Callable[[], None]
    weight: Weight = Weight.PLAIN
    key: object = None
    """What else tells it from another one of the same words."""

    @property
    def identity(self) -> tuple[object, ...]:
        """Two controls of one identity do the same."""
        return self.words, self.weight, self.key


def step_controls(value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Control]:
    """What the step of now needs, and no more."""
    if value.phrase:
        return [Control("Leave it", presenter.leave_phrase)]
    controls = []
    if value.action not in PLAYS:
        controls.append(Control("Stop" if value.sound.playing else "Listen", presenter.play_or_stop))
    if value.sound.playing:
        held = value.sound.holding
        controls.append(Control("Go on" if held else "Hold this moment", presenter.hold_or_release))
    if value.settled:
        return [*controls, *_hearing(value, presenter)]
    match value.step:
        case Step.HEAR:
            controls += [Control(PHRASE, presenter.begin_phrase)] if value.listens else []
        case Step.FIND:
            controls.append(_work(presenter, "Hum it anew", NoteWork.drop))
        case _:
            controls += _asking(value, presenter)
    if value.just_written:
        controls += octave_controls(presenter)
    if value.likely is not None and value.step in {Step.HEAR, Step.FIND}:
        controls += _likely(value, presenter)
    return controls + _quiet(value, presenter)


def _asking(value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Control]:
    if value.confirming:
        yes = _work(presenter, "Yes, show it", NoteWork.hint)
        return [yes, _work(presenter, "Not yet", NoteWork.not_yet)]
    return [_work(presenter, value.hint, NoteWork.hint)] if value.hint is not None else []


def _likely(value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Control]:
    words = "Fold the likely notes away" if value.likely else "Which notes are likely?"
    controls = [Control(words, presenter.show_likely, Weight.QUIET)]
    for each in value.likely or ():
        weight = Weight.PLAIN if each.main else Weight.QUIET
        controls.append(
            Control(f"{each.name}: {each.words}", _proposing(presenter, each.midi), weight, each.midi)
        )
    return controls


def _proposing(presenter: WorkbenchPresenter, midi: int) -> Callable[[], None]:
    return lambda: presenter.work(lambda note: note.propose(midi))


def _quiet(value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Control]:
    controls = []
    if value.any_notes:
        controls += _hearing(value, presenter)
        if value.action != CHECK_ALL:
            controls.append(Control(CHECK_ALL, presenter.check_all, Weight.QUIET))
    if value.can_undo:
        controls.append(_work(presenter, "Undo", NoteWork.undo, Weight.QUIET))
    if value.can_redo:
        controls.append(_work(presenter, "Redo", NoteWork.redo, Weight.QUIET))
    return controls


def _hearing(value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Control]:
    both = "Recording alone" if value.sound.apart else "Hear both, apart"
    return [
        Control("Hear my notes", presenter.hear_line, Weight.QUIET),
        Control(both, presenter.hear_both, Weight.QUIET),
    ]


def octave_controls(presenter: WorkbenchPresenter) -> list[Control]:
    """The whole line an octave up or down."""
    return [
        _work(presenter, "All 12 frets up", lambda note: note.all_octaves(1)),
        _work(presenter, "All 12 frets down", lambda note: note.all_octaves(-1)),
    ]


def change_controls(value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Control]:
    """What can be done with the note at the chosen place."""
    if value.free:
        words = "Make it short" if value.long else "Make it long"
        lengths = [_work(presenter, words, NoteWork.turn_long)]
    else:
        lengths = [
            _work(presenter, "Shorter", lambda note: note.lengthen(-1)),
            _work(presenter, "Longer", lambda note: note.lengthen(1)),
        ]
    return [
        _work(presenter, "Earlier", lambda note: note.move(-1)),
        _work(presenter, "Later", lambda note: note.move(1)),
        *lengths,
        _work(presenter, "12 frets up", lambda note: note.octave(1)),
        _work(presenter, "12 frets down", lambda note: note.octave(-1)),
        _work(presenter, "Take out", NoteWork.remove),
    ]


def _work(
    presenter: WorkbenchPresenter,
    words: str,
    change: Callable[[NoteWork], None],
    weight: Weight = Weight.PLAIN,
) -> Control:
    return Control(words, lambda: presenter.work(change), weight)


def folds_of(value: WorkbenchView) -> list[str]:
    """Words of the groups that are folded away now."""
    if value.phrase:
        return []
    if value.settled:
        return [SOUND]
    return [SOUND, CHANGE, KEYS, MORE] if value.has_note else [SOUND, KEYS, MORE]


def fold_identity(fold: str | None, value: WorkbenchView) -> tuple[object, ...]:
    """What an open fold depends on: while it stays the same its widgets stay."""
    match fold:
        case None:
            return ()
        case "Speed and loudness":
            return fold, value.sound.click, value.sound.count_in
        case "Piano keys":
            return (fold,)  # they change in place
        case "Change notes":
            return fold, value.chosen, value.syllable, value.long
        case _:
            return fold, value.feel, value.any_notes, value.listens and value.step is not Step.HEAR


def fold_content(look: Look, fold: str, value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Widget]:
    """The widgets of an open fold."""
    if fold == SOUND:
        return _sound(look, value, presenter)
    if fold == CHANGE:
        syllable = Field(
            look, "A syllable under this note, then Enter", value.syllable,
            ended=lambda text: presenter.work(lambda note: note.say(text)),
        )  # fmt: skip
        return [flow(look, change_controls(value, presenter)), syllable]
    if fold == KEYS:
        return [PianoKeys(look, value.keys, lambda midi: presenter.work(lambda note: note.propose(midi)))]
    typed = Field(
        look, "Type a note's name, then Enter", ended=lambda text: presenter.work(lambda n: n.type_note(text))
    )
    controls = (
        [Control(PHRASE, presenter.begin_phrase)] if value.listens and value.step is not Step.HEAR else []
    )
    if value.any_notes:
        controls += octave_controls(presenter)
    content: list[Widget] = [typed, *([flow(look, controls)] if controls else [])]
    if value.feel is None:
        return content
    feels = [(feel.value, words) for feel, words in FEEL_WORDS.items()]
    feel = Choice(look, feels, value.feel.value, lambda key: presenter.divide(Feel(key)))
    return [*content, quiet(look, "How beats divide"), feel]


def _sound(look: Look, value: WorkbenchView, presenter: WorkbenchPresenter) -> list[Widget]:
    speeds = [(str(speed), speed_words(speed)) for speed in SPEEDS]
    louder = [(each.value, words) for each, words in EMPHASIS_WORDS.items()]
    sound = value.sound
    click, counted = not sound.click, not sound.count_in
    beat = Flow(
        _switch(look, "Click on the beats", presenter, on=sound.click, click=click),
        _switch(look, "Count-in", presenter, on=sound.count_in, count_in=counted),
    )
    if value.feel is not None:
        beat.add_widget(Press(look, "Put the beat right", presenter.to_beats, weight=Weight.QUIET))
    return [
        quiet(look, "Slower or faster"),
        Choice(look, speeds, str(sound.speed), lambda key: presenter.change_sound(speed=float(key))),
        Choice(
            look, louder, sound.emphasis.value, lambda key: presenter.change_sound(emphasis=Emphasis(key))
        ),
        *([] if value.free else [beat]),
    ]


def _switch(look: Look, words: str, presenter: WorkbenchPresenter, *, on: bool, **change: bool) -> Press:
    button = Press(look, f"{words}: {'on' if on else 'off'}", lambda: presenter.beat(**change))
    button.chosen = on
    return button


def flow(look: Look, controls: list[Control]) -> Flow:
    """Buttons side by side."""
    return Flow(*(Press(look, each.words, each.do, weight=each.weight) for each in controls))
