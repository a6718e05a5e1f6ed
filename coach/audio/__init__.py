"""Sound devices, audio files, slowing down: the adapters that make sound real."""
