"""Ear training, live."""
