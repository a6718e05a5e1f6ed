"""Drawings and controls that several screens share."""
