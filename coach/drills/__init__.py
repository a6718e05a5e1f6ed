"""Ear training: prompts as values, and how answers are graded."""
