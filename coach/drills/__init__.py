"""Ear training as values: drills from data, prompts made from them, answers graded. No sound, no clock."""
