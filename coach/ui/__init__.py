"""The touch app."""
