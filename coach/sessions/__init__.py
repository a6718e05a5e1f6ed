"""Use cases, and the ports through which they reach devices and disks.

For screens: the app makes one `practice_room.PracticeRoom`. Its ``journal`` is the only writer of the log
(``write(event)``, ``progress``, ``subscribe``); its ``studio()`` gives ``listener`` (``subscribe``,
``frames_since``, ``level``), ``output`` and ``deafness``, and raises ``DeviceError`` without a microphone.

- ``ear.drill_session.DrillSession``: asks prompts, listens, grades; its states are in ``ear.state``.
- ``piece.bringing_in``: bundled pieces and imported recordings.
- ``piece.beat_desk.BeatDesk``: tapped beat, sections, key.
- ``piece.line_desk.LineDesk``: one line of one section: place, move, remove, undo, settle.
- ``piece.check_desk.CheckDesk``: is this the note, and the hint ladder.
- ``piece.neck_desk.NeckDesk``: fingering, smallest change, settle.
- ``piece.sheet_files.write_sheet``: the engraved sheet and its files.
- ``piece.material``: what the log knows of a piece as grid, lines, arrangement.
"""
