"""trackside: what the car ran at each corner, what a click is worth, and what won."""

__version__ = "0.1.0"
