"""A teacher's reply as a small JSON file: a word, a corrected note, a bar less, one more change."""

import json

from coach.errors import TooLargeError, UnreadableFileError
from coach.practice.events import ReplyOpened
from coach.practice.plain import from_plain, to_plain

FORMAT = 1
KIND = "reply"
MOST_BYTES = 1_000_000


def reply_json(reply: ReplyOpened) -> bytes:
    """A reply as UTF-8 JSON; ``piece`` is the learner's own identifier, as the report has it."""
    plain = {"format": FORMAT, "kind": KIND, **to_plain(reply)}
    return json.dumps(plain, ensure_ascii=False, allow_nan=False, indent=1).encode() + b"\n"


def read_reply(data: bytes, name: str) -> ReplyOpened:
    """A reply out of a file; ``InputError`` if it is none, too large, or of a newer format."""
    if len(data) > MOST_BYTES:
        raise TooLargeError(f"“{name}” is too large for a reply: ask your teacher for a new one.")
    try:
        plain = json.loads(data)
        known = plain["kind"] == KIND and plain["format"] <= FORMAT
        reply = from_plain(ReplyOpened, plain)
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _unknown(name) from error
    if not known:
        raise _unknown(name)
    return reply


def _unknown(name: str) -> UnreadableFileError:
    return UnreadableFileError(
        f"“{name}” is not a reply that this version can read: ask your teacher for a new one."
    )
