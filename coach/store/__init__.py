"""The data folder: event log, snapshots, settings, piece folders, packs, back-ups."""
