"""One drill through the microphone, without a screen."""

from collections.abc import Callable

from coach.drills.prompt import Prompt
from coach.errors import DeviceError
from coach.sessions.deafness import DEFAULT_ROUND_TRIP_S, Deafness
from coach.sessions.ear.drill_session import DrillSession
from coach.sessions.ear.state import DrillState, Graded, Passed, Paused
from coach.sessions.journal import Journal
from coach.sessions.listener import STEP_S, Listener
from coach.sessions.services import Services
from coach.sessions.studio import device_named, device_pair, kept_way_s


def ask_live(
    services: Services, prompt: Prompt, seed: int, on_change: Callable[[DrillState], None]
) -> Graded | Passed | Paused:
    """Sound a prompt, hear the answer and log its grade, on this thread; paused where nothing was heard.

    Parameters
    ----------
    services
        Devices, engine, settings, log.
    prompt, seed
        What is asked.
    on_change
        Told of every state.

    Raises
    ------
    DeviceError
        If there is no microphone or loudspeaker, or one went away.
    LockedError
        If the app is open elsewhere: grades go into its log.
    """
    settings = services.current_settings()
    catalog = services.devices()
    speaker = device_named(catalog, settings.output_device, wants_input=False)
    source = device_named(catalog, settings.input_device, wants_input=True)
    output = catalog.output(speaker.index if speaker else None)
    microphone = catalog.input(source.index if source else None)
    journal = Journal(services.log(), services.clock)
    try:
        output.open()
        kept_s = kept_way_s(journal.progress, device_pair(speaker, source))
        deafness = Deafness(output, services.clock, settings.headphones, kept_s or DEFAULT_ROUND_TRIP_S)
        listener = Listener(
            microphone, services.engine("auto"), deafness, services.clock, a4_hz=settings.a4_hz
        )
        listener.open()
        session = DrillSession(listener, output, deafness, journal, a4_hz=settings.a4_hz, on_change=on_change)
        session.ask(prompt, seed)
        return _until_graded(session, listener, services)
    finally:
        microphone.close()
        output.close()
        journal.close()


def _until_graded(session: DrillSession, listener: Listener, services: Services) -> Graded | Passed | Paused:
    while True:
        if listener.step() is None:
            services.clock.sleep(STEP_S)
        session.check_device()
        match session.state:
            case Graded() | Passed() | Paused(silent=True) as over:
                return over
            case Paused():
                raise DeviceError("The microphone went away: plug it in again and start the drill anew.")
            case _:
                pass
