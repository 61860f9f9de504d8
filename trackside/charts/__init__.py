"""Curves, trends and tread temperatures as text, for a given width and height.

A drawing names roles, not colours: the screens give each role its style, the command line prints
`Drawing.plain()`. Corners, before and after, bump and rebound differ by marker as well.
"""

from trackside.charts.drawing import MARKERS, ROLES, Drawing, Span
from trackside.charts.frame import canvas_rows
from trackside.charts.ink import INKS
from trackside.charts.page import plot
from trackside.charts.panel import live
from trackside.charts.series import Series
from trackside.charts.svg import svg
from trackside.charts.ticks import round_ticks, tick_text
from trackside.charts.treads import tread_map
from trackside.charts.trend import spark

__all__ = [
    "INKS",
    "MARKERS",
    "ROLES",
    "Drawing",
    "Series",
    "Span",
    "canvas_rows",
    "live",
    "plot",
    "round_ticks",
    "spark",
    "svg",
    "tick_text",
    "tread_map",
]
