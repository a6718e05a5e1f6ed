"""Written files in and out: lines JSON, MusicXML, MIDI, and the engraved sheet."""
