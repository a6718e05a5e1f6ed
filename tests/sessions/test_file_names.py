"""Names of files made of what the player wrote."""

import pytest

from coach.sessions.file_names import file_stem


@pytest.mark.parametrize(
    ("words", "stem"),
    [
        ("Über/..\\den Wolken: 2", "Über-den-Wolken-2"),
        ("snake_case - and more", "snake-case-and-more"),
        ("...", "piece"),
        ("Con", "Con-piece"),
        ("lpt1", "lpt1-piece"),
        ("console", "console"),
        ("a" * 59 + " b", "a" * 59),
    ],
)
def test_names_of_files_are_plain(words: str, stem: str) -> None:
    assert file_stem(words, "piece") == stem
