"""``coach drill``: one ear-training drill, its prompt as audio, its answer graded."""

import argparse
from pathlib import Path
from random import Random

from coach.cli.drill_values import drill_value, grade_text, prompt_text, prompt_value
from coach.cli.output import Output, UsageError, each_input
from coach.drills.answers import Answer, read_answer
from coach.drills.data import Drill
from coach.drills.grading import grade
from coach.drills.kinds import By
from coach.drills.making import make_prompt
from coach.drills.prompt import Prompt
from coach.errors import InputError
from coach.practice.settings import Settings
from coach.sessions.ear.library import bundled_melody, context_of, drills_of
from coach.sessions.ear.live import ask_live
from coach.sessions.ear.recorded import heard_answer
from coach.sessions.ear.sound import prompt_sound
from coach.sessions.ear.state import DrillState, Graded, Listening, Paused
from coach.sessions.services import Services

RENDER_HZ = 48_000


def _from_one(text: str) -> int:
    """Read a level for argparse."""
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"levels are counted from 1, not “{text}”")
    return int(text)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="a drill; without one they are listed")
    parser.add_argument("--seed", type=int, metavar="N", help="the same number gives the same prompt")
    parser.add_argument("--level", type=_from_one, default=1, metavar="N", help="from 1, the easiest")
    parser.add_argument("--by", choices=[by.value for by in By], help="what the answer is given with")
    parser.add_argument("--render", metavar="FILE", help="write the prompt as wav, flac or ogg")
    answers = parser.add_mutually_exclusive_group()
    answers.add_argument(
        "--answer", metavar="AUDIO", help="a recorded answer that starts when listening starts"
    )
    answers.add_argument("--text", metavar="ANSWER", help="a typed answer: notes, seconds, a word or places")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """List the drills, or ask and grade one.

    Without ``--answer``, ``--text`` and ``--render`` the microphone listens; in JSON mode nobody is there to
    answer, and the prompt alone is told.
    """
    if args.name is None:
        if args.render or args.answer or args.text is not None:
            raise UsageError("drill needs the NAME of a drill for this; “coach drill” lists them.")
        return _list(services, out)
    every = drills_of(services.exercises, services.data_folder)
    drills = {drill.kind.value: drill for drill in reversed(every)} | {drill.name: drill for drill in every}
    if args.name not in drills:
        raise UsageError(f"There is no drill “{args.name}”; “coach drill” lists them.")
    levels = len(drills[args.name].levels)
    if args.level > levels:
        raise UsageError(f"The drill “{args.name}” has {levels} levels, not {args.level}.")
    if args.answer is not None:
        return each_input([args.answer], out, lambda path: _one(args, drills[args.name], path, services, out))
    _one(args, drills[args.name], None, services, out)
    return 0


def _list(services: Services, out: Output) -> int:
    drills = drills_of(services.exercises, services.data_folder)
    out.value([drill_value(drill) for drill in drills])
    for drill in drills:
        out.text(f"{drill.name:<20} {drill.title} ({len(drill.levels)} levels)")
    return 0


def _one(args: argparse.Namespace, drill: Drill, audio: Path | None, services: Services, out: Output) -> None:
    settings = services.current_settings()
    seed = int(services.clock.now().timestamp() * 1000) if args.seed is None else args.seed
    prompt = _prompt(args, drill, seed, settings, services)
    if args.render is not None:
        samples = prompt_sound(prompt, RENDER_HZ, settings.a4_hz)
        services.encoder().encode(Path(args.render), samples, RENDER_HZ)
    if not (out.json_mode or args.render or audio is not None or args.text is not None):
        _live(prompt, seed, services, out)
        return
    answer = _answer(args, prompt, audio, settings, services)
    result = None if answer is None else grade(prompt, answer)
    out.value(prompt_value(prompt, seed, answer, result))
    for line in prompt_text(prompt, result):
        out.text(line)


def _live(prompt: Prompt, seed: int, services: Services, out: Output) -> None:
    """Ask through loudspeaker and microphone; the grade goes into the log."""
    for line in prompt_text(prompt, None):
        out.text(line)

    def tell(state: DrillState) -> None:
        if isinstance(state, Listening):
            out.progress("Your turn.")

    over = ask_live(services, prompt, seed, tell)
    if isinstance(over, Graded):
        for line in grade_text(prompt, over.grade):
            out.text(line)
    elif isinstance(over, Paused):
        out.text("I heard nothing: run the drill again when you are ready.")


def _prompt(
    args: argparse.Namespace, drill: Drill, seed: int, settings: Settings, services: Services
) -> Prompt:
    log = services.read_log()
    try:
        voice = log.progress().voice
    finally:
        log.close()
    context = context_of(settings, voice=voice, melody=bundled_melody(services.exercises))
    return make_prompt(drill, args.level, Random(seed), context, by=By(args.by) if args.by else None)


def _answer(
    args: argparse.Namespace, prompt: Prompt, audio: Path | None, settings: Settings, services: Services
) -> Answer | None:
    if args.text is not None:
        try:
            return read_answer(args.text, prompt.kind.form)
        except InputError as error:
            raise UsageError(error.message) from error
    if audio is None:
        return None
    sound = services.decoder().decode(audio)
    if not len(sound.mono):
        raise InputError(f"{audio} holds no sound: record an answer and try again.")
    return heard_answer(
        prompt, sound.mono, sound.rate_hz, a4_hz=settings.a4_hz, engine=services.engine("auto")
    )
