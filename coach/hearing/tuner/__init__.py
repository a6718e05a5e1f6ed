"""The tuner: `tuner` reads a stream, `live_tuner` and `tuned_strings` judge what it reads.

`plucks` cuts the stream into windows, `string_pitch` measures one of them by its `string_partials`, and
`struck` tells a plucked string from a voice or a hum.
"""
