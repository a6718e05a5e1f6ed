"""Reading drills: every field is looked at, and what is wrong is named with file, line and field."""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Final, TypeVar, cast

from coach.drills.data import Direction, Drill, Level, Register
from coach.drills.items import item_fault, pattern_fault
from coach.drills.kinds import By, Kind
from coach.drills.toml_lines import FieldLines
from coach.errors import DrillDataError
from coach.tones.prompt import Timbre

MOST_BYTES: Final = 100_000
MOST_LETTERS: Final = 80
_WordT = TypeVar("_WordT", bound=StrEnum)
_KNOWN = frozenset(
    {
        "name",
        "kind",
        "title",
        "by",
        "items",
        "first",
        "directions",
        "registers",
        "seconds",
        "level",
        "patterns",
    }
)


def load_drills(files: Iterable[tuple[str, bytes]]) -> tuple[Drill, ...]:
    """Read drills, one a file.

    Parameters
    ----------
    files
        Name and bytes of each; of two drills with one name the later one is at fault.

    Returns
    -------
    tuple[Drill, ...]
        In the order of meeting: by kind, then by file name.

    Raises
    ------
    DrillDataError
        At the first wrong field, or where two drills have one name.
    """
    drills: dict[str, tuple[str, Drill]] = {}
    for file, data in files:
        drill = load_drill(file, data)
        if drill.name in drills:
            raise DrillDataError(
                f"{file}: another drill is already called “{drill.name}”; give it a new name."
            )
        drills[drill.name] = (file, drill)
    ordered = sorted(drills.values(), key=lambda loaded: (loaded[1].kind.order, loaded[0]))
    return tuple(drill for _, drill in ordered)


def load_drill(file: str, data: bytes) -> Drill:
    """Read one drill; see `load_drills`."""
    if len(data) > MOST_BYTES:
        raise DrillDataError(f"{file} is too long for a drill: {MOST_BYTES} bytes are the limit.")
    try:
        text = data.decode("utf-8-sig")  # some editors put a mark first
        table = tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise DrillDataError(f"{file} is not a text in UTF-8.") from error
    except tomllib.TOMLDecodeError as error:
        raise DrillDataError(f"{file} is not readable TOML: {error}.") from error
    return _drill(_Table(file, FieldLines(text), table))


def _drill(top: "_Table") -> Drill:
    top.only(_KNOWN)
    kind = top.word("kind", Kind)
    items = top.texts("items")
    for item in items:
        fault = item_fault(kind, item)
        if fault is not None:
            raise top.wrong("items", f"hold {fault}; “{item}” is not")
    if len(set(items)) < len(items):
        raise top.wrong("items", "name each item once")
    name = top.text("name")
    if ":" in name or " " in name:
        raise top.wrong("name", "be one word without spaces and colons")
    return Drill(
        name=name,
        kind=kind,
        title=top.text("title"),
        by=top.words("by", By, least=0),
        items=items,
        first=top.whole("first", 0, len(items)),
        directions=top.words("directions", Direction) if "directions" in top.table else (Direction.ANY,),
        registers=top.words("registers", Register) if "registers" in top.table else (Register.ANY,),
        seconds=top.number("seconds", 4.0, 90.0),
        levels=_levels(top),
        patterns=_patterns(top, kind, items),
    )


def _levels(top: "_Table") -> tuple[Level, ...]:
    """The levels; each field goes on from the level before until it is changed."""
    rows = top.table.get("level")
    if not isinstance(rows, list) or not 1 <= len(rows) <= 12 or not all(isinstance(r, dict) for r in rows):
        raise top.wrong("level", "be given as [[level]], 1 to 12 times")
    levels, level = [], Level()
    for index, row in enumerate(cast("list[Mapping[str, object]]", rows)):
        table = _Table(top.file, top.lines, row, "level", index)
        level = _level(table, level)
        if level.instant_s > level.sure_s:
            raise table.wrong("instant_s", f"be at most sure_s, which is {level.sure_s:g} here")
        levels.append(level)
    return tuple(levels)


def _level(row: "_Table", before: Level) -> Level:
    row.only(frozenset(known.name for known in fields(Level)))
    readers: dict[str, Callable[[], object]] = {
        "timbres": lambda: row.words("timbres", Timbre),
        "cents": lambda: row.number("cents", 10.0, 50.0),
        "reach": lambda: row.whole("reach", 0, 24),
        "note_s": lambda: row.number("note_s", 0.15, 4.0),
        "silence_s": lambda: row.number("silence_s", 0.0, 20.0),
        "notes": lambda: row.span("notes", 2, 12),
        "tempo_bpm": lambda: row.number("tempo_bpm", 30.0, 200.0),
        "tolerance_s": lambda: row.number("tolerance_s", 0.03, 0.3),
        "broken": lambda: row.truth("broken"),
        "sure_s": lambda: row.number("sure_s", 0.5, 30.0),
        "instant_s": lambda: row.number("instant_s", 0.2, 30.0),
    }
    changes = {name: read() for name, read in readers.items() if name in row.table}
    return replace(before, **changes)  # type: ignore[arg-type]


def _patterns(top: "_Table", kind: Kind, items: tuple[str, ...]) -> dict[str, tuple[tuple[str, ...], ...]]:
    given = top.table.get("patterns", {})
    if not isinstance(given, dict):
        raise top.wrong("patterns", "be a table")
    table = _Table(top.file, top.lines, cast("Mapping[str, object]", given), "patterns", 0)
    table.only(frozenset(items))
    patterns = {item: table.rows(item) for item in table.table}
    for item in items:
        fault = pattern_fault(kind, patterns.get(item))
        if fault is not None:
            raise table.wrong(item, fault)
    return patterns


@dataclass(frozen=True, slots=True)
class _Table:
    """One table of a file, read field by field."""

    file: str
    lines: FieldLines
    table: Mapping[str, object]
    name: str = ""
    index: int = 0

    def wrong(self, field: str, wanted: str) -> DrillDataError:
        line = self.lines.of(field, self.name, self.index)
        return DrillDataError(f"{self.file}, line {line}: the field “{field}” must {wanted}.")

    def only(self, known: frozenset[str]) -> None:
        for field in self.table:
            if field not in known:
                raise self.wrong(field, f"go: known here are {', '.join(sorted(known))}")

    def text(self, field: str) -> str:
        value = self.table.get(field)
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(field, "be a text")
        if len(value) > MOST_LETTERS or not value.isprintable():
            raise self.wrong(field, f"be one line of at most {MOST_LETTERS} letters")
        return value

    def texts(self, field: str) -> tuple[str, ...]:
        value = self.table.get(field)
        if not isinstance(value, list) or not value or not all(isinstance(one, str) and one for one in value):
            raise self.wrong(field, "be a list of texts")
        return tuple(cast("list[str]", value))

    def word(self, field: str, words: type[_WordT]) -> _WordT:
        value = self.text(field)
        if value not in set(words):
            raise self.wrong(field, f"be one of {', '.join(words)}")
        return words(value)

    def words(self, field: str, words: type[_WordT], least: int = 1) -> tuple[_WordT, ...]:
        value = self.table.get(field)
        known = set(words)
        if not isinstance(value, list) or len(value) < least or any(one not in known for one in value):
            raise self.wrong(field, f"be a list of {', '.join(words)}")
        if len(set(value)) < len(value):
            raise self.wrong(field, "name each word once")
        return tuple(words(one) for one in cast("list[str]", value))

    def number(self, field: str, low: float, high: float) -> float:
        value = self.table.get(field)
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise self.wrong(field, f"be a number from {low:g} to {high:g}")
        return float(value)

    def whole(self, field: str, low: int, high: int) -> int:
        value = self.table.get(field)
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise self.wrong(field, f"be a whole number from {low} to {high}")
        return value

    def truth(self, field: str) -> bool:
        value = self.table.get(field)
        if not isinstance(value, bool):
            raise self.wrong(field, "be true or false")
        return value

    def span(self, field: str, low: int, high: int) -> tuple[int, int]:
        value = self.table.get(field)
        if not (
            isinstance(value, list)
            and len(value) == 2
            and all(isinstance(one, int) and not isinstance(one, bool) for one in value)
            and low <= value[0] <= value[1] <= high
        ):
            raise self.wrong(field, f"be two whole numbers, least and most, from {low} to {high}")
        return (value[0], value[1])

    def rows(self, field: str) -> tuple[tuple[str, ...], ...]:
        value = self.table.get(field)
        if not isinstance(value, list) or not value:
            raise self.wrong(field, "be a list of rows")
        for row in value:
            if not isinstance(row, list) or not row or not all(isinstance(one, str) for one in row):
                raise self.wrong(field, "be rows of texts")
        return tuple(tuple(row) for row in cast("list[list[str]]", value))
