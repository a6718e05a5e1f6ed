"""What each screen shows and does, without Kivy."""
