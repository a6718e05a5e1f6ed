"""The player's settings as one JSON file."""

import json
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from coach.practice.plain import from_plain, to_plain
from coach.practice.settings import Settings
from coach.store.atomic import write_whole


@dataclass(frozen=True, slots=True)
class JsonSettings:
    """The `SettingsStore` port: ``settings.json``."""

    path: Path

    def load(self) -> Settings:
        """The settings kept; a field that is missing or broken has its default."""
        try:
            plain = json.loads(self.path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return Settings()
        if not isinstance(plain, dict):
            return Settings()
        return from_plain(Settings, {key: plain[key] for key in plain if _fits(key, plain[key])})

    def save(self, settings: Settings) -> None:
        """Keep settings, whole or not at all; ``StoreError`` if that fails."""
        text = json.dumps(to_plain(settings), ensure_ascii=False, allow_nan=False, indent=1)
        write_whole(self.path, text.encode() + b"\n")


_NAMES = {field.name for field in fields(Settings)}


def _fits(key: str, value: Any) -> bool:  # noqa: ANN401 - any JSON value
    if key not in _NAMES:
        return False
    try:
        from_plain(Settings, {key: value})
    except ValueError:
        return False
    return True
