"""One folder a screen; `coach.ui.screens.table` lists them all."""
