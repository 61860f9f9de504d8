"""The screens in a browser: the door, the passes, and the viewers behind it."""
