"""Words in large letters, five lines high, for what is read at arm's length."""

from __future__ import annotations

from typing import Final

HEIGHT: Final = 5
"""Lines of a letter."""

_SHAPES: Final = {
    "A": " ### |#   #|#####|#   #|#   #",
    "B": "#### |#   #|#### |#   #|#### ",
    "D": "#### |#   #|#   #|#   #|#### ",
    "E": "#####|#    |#### |#    |#####",
    "F": "#####|#    |#### |#    |#    ",
    "G": " ####|#    |#  ##|#   #| ### ",
    "H": "#   #|#   #|#####|#   #|#   #",
    "I": "###| # | # | # |###",
    "L": "#    |#    |#    |#    |#####",
    "M": "#   #|## ##|# # #|#   #|#   #",
    "N": "#   #|##  #|# # #|#  ##|#   #",
    "O": " ### |#   #|#   #|#   #| ### ",
    "R": "#### |#   #|#### |#  # |#   #",
    "S": " ####|#    | ### |    #|#### ",
    "T": "#####|  #  |  #  |  #  |  #  ",
    "U": "#   #|#   #|#   #|#   #| ### ",
    "Y": "#   #| # # |  #  |  #  |  #  ",
    "0": " ### |#  ##|# # #|##  #| ### ",
    "1": " # |## | # | # |###",
    "2": "#### |    #| ### |#    |#####",
    "3": "#### |    #| ### |    #|#### ",
    "4": "#   #|#   #|#####|    #|    #",
    "5": "#####|#    |#### |    #|#### ",
    "6": " ### |#    |#### |#   #| ### ",
    "7": "#####|   # |  #  | #   |#    ",
    "8": " ### |#   #| ### |#   #| ### ",
    "9": " ### |#   #| ####|    #| ### ",
    ".": " | | | |#",
    ",": "  |  |  | #|# ",
    "-": "   |   |###|   |   ",
    " ": "  |  |  |  |  ",
}
"""The letters that the walk round the car needs, and figures; each line by line."""


def can_show(words: str) -> bool:
    """Whether there is a large letter for every one of them."""
    return all(letter in _SHAPES for letter in words.upper())


def large(words: str, ink: str = "█", across: int = 1) -> list[str]:
    """The words, each letter of them known, in HEIGHT lines; `across` cells to a dot."""
    letters = [_SHAPES[letter].split("|") for letter in words.upper()]
    lines = (" ".join(letter[line] for letter in letters) for line in range(HEIGHT))
    return ["".join((ink if dot == "#" else dot) * across for dot in line) for line in lines]


def width(words: str, across: int = 1) -> int:
    """Cells that they take."""
    return len(large(words, across=across)[0])
