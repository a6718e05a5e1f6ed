"""What the screens show and do, as values and methods. Nothing here knows Kivy."""
