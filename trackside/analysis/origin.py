"""Where a force comes from, as facts; `reports.origin_words` makes the sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

OriginKind = Literal["sheet", "sisters", "carried over", "shop rule", "parts"]
RingKind = Literal["known", "at full hard", "lift not known", "not measured"]


class SheetName(NamedTuple):
    """What a dyno sheet is called: its damper, build and day."""

    damper: str
    build: str
    date: str


@dataclass(frozen=True)
class Origin:
    """What a force was calculated from.

    - sheet: the build's own dyno sheet.
    - sisters: those builds, by name; with the build's own `sheet` where it has one.
    - carried over: the `sheet` of another build of the damper, to build `to` in that `direction`:
      `same_parts` where the parts on record are the same, else by the parts of both.
    - shop rule: the shop's full-hard force, less `share` of it a click.
    - parts: the build's parts alone.

    `by_rule`: the sheet's curve was carried to the position by the shop's share of a click. `ring`:
    what is known of the preload ring there. `resealed`: the day of new seals that the sheet, run
    before, has not felt. `twice`: the build that two laptops entered, while
    nobody has decided which entry holds.
    """

    kind: OriginKind
    sheet: SheetName | None = None
    sisters: tuple[str, ...] = ()
    to: str = ""
    direction: str = ""
    same_parts: bool = False
    share: float | None = None
    by_rule: bool = False
    ring: RingKind = "known"
    twice: str = ""
    resealed: str = ""
