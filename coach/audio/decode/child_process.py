"""The warm child process that decodes: started once, used for file after file, ended when it gets stuck."""

import contextlib
import json
import queue
import subprocess
import sys
import threading
import weakref
from pathlib import Path
from typing import BinaryIO

import coach
from coach.audio.decode.kinds import Kind
from coach.audio.decode.protocol import Word, read_packet

_START = "import sys; sys.path.insert(0, sys.argv[1]); from coach.audio.decode.child import main; main()"
_QUIT_S = 2.0

Packet = tuple[Word, bytes]
_Packets = queue.SimpleQueue[Packet | None]


def _listen(source: BinaryIO, packets: _Packets) -> None:
    """Carry packets from the pipe into a queue that can be waited on with a time limit."""
    while True:
        packet = read_packet(source)
        packets.put(packet)
        if packet is None:
            return


def _end(process: subprocess.Popen[bytes], listener: threading.Thread) -> None:
    """End the child: kindly if it waits for work, else at once."""
    if process.stdin is not None:
        with contextlib.suppress(OSError):
            process.stdin.close()
    try:
        process.wait(_QUIT_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
    listener.join()
    if process.stdout is not None:
        process.stdout.close()


class ChildProcess:
    """A running child; of no more use once `dead`."""

    def __init__(self) -> None:
        root = str(Path(coach.__file__).resolve().parent.parent)
        self._process = subprocess.Popen(  # noqa: S603  fixed words
            [sys.executable, "-P", "-c", _START, root],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        self._packets: _Packets = queue.SimpleQueue()
        listener = threading.Thread(
            target=_listen, args=(self._process.stdout, self._packets), name="decode-listener", daemon=True
        )
        listener.start()
        self._finish = weakref.finalize(self, _end, self._process, listener)

    @property
    def pid(self) -> int:
        """Process number, for measuring."""
        return self._process.pid

    @property
    def dead(self) -> bool:
        """Whether the child has ended."""
        return self._process.poll() is not None

    def ask(self, path: Path, kind: Kind) -> None:
        """Name the next file."""
        line = json.dumps({"path": str(path), "kind": kind.value}) + "\n"
        if self._process.stdin is not None:
            # A child that has just died is noticed by the empty answer.
            with contextlib.suppress(OSError):
                self._process.stdin.write(line.encode())
                self._process.stdin.flush()

    def packet(self, timeout_s: float) -> Packet | None:
        """The next packet, ``None`` if the child is gone; ``TimeoutError`` if nothing came in time."""
        try:
            return self._packets.get(timeout=timeout_s)
        except queue.Empty:
            raise TimeoutError from None

    def kill(self) -> None:
        """End it at once."""
        self._process.kill()
        self._finish()

    def close(self) -> None:
        """End it when it is done."""
        self._finish()
