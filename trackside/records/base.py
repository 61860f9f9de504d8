"""What every record shares: immutable, checked where a person types, clean of control codes."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError

from trackside.errors import BadRecord
from trackside.units import clean, one_line

Line = Annotated[str, AfterValidator(one_line)]
"""Words on one line."""

Words = Annotated[str, AfterValidator(clean)]
"""Words, as many lines as the person likes."""


class Record(BaseModel):
    """An immutable value. A field that this version does not know is passed over, never refused:
    the logbook keeps it, and a newer trackside reads it."""

    model_config = ConfigDict(frozen=True, extra="ignore")
    IN_PARTS: ClassVar[bool] = True
    """Whether the record means something without a value that cannot be read. False where what is
    left would be another thing: a damper's build, a dyno sheet."""

    @classmethod
    def checked(cls, body: dict[str, Any]) -> Self:
        """The record of `body`; BadRecord, with the first contradiction in words."""
        try:
            return cls.model_validate(body)
        except ValidationError as error:
            raise cls._refused(error) from error

    @classmethod
    def as_far_as_read(cls, body: Any) -> tuple[Self, tuple[str, ...]]:
        """The record without the values that cannot be read, and a phrase for each of those: its
        place and why. BadRecord where nothing is left of it, or what is left would be another
        thing (`IN_PARTS`)."""
        left, unread = body, dict[tuple[int | str, ...], tuple[str, BadRecord]]()
        while True:
            try:
                return cls.model_validate(left), tuple(phrase for phrase, _ in unread.values())
            except ValidationError as error:
                refused, first = cls._refused(error), error.errors()[0]
                place = _value_at(left, first["loc"])
                if place in unread:  # it was needed
                    raise unread[place][1] from error
                if place is None or not cls.IN_PARTS:
                    raise refused from error
                unread[place] = _phrase(place, first), refused
                left = _without(left, place)

    @classmethod
    def _refused(cls, error: ValidationError) -> BadRecord:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"]) or cls.__name__.lower()
        cause = f"{cls.__name__} cannot be read at {place}: {_cause(first)}"
        return BadRecord(cause, "correct that value")

    def body(self) -> dict[str, Any]:
        """The JSON-able body: what is unknown is left out."""
        return self.model_dump(mode="json", exclude_none=True)


_PLAIN = {
    "missing": "it is missing",
    "string_type": "it is no text",
    "bool_type": "it is neither yes nor no",
    "bool_parsing": "it is neither yes nor no",
    "literal_error": "it is none of {expected}",
    "less_than_equal": "it is above {le:g}",
    "greater_than_equal": "it is below {ge:g}",
    "less_than": "it is not below {lt:g}",
    "greater_than": "it is not above {gt:g}",
    "string_too_short": "it is empty",
    "finite_number": "it is no finite number",
}
_BY_START = {"float": "it is no number", "int": "it is no whole number"}


def _cause(error: Any) -> str:
    """Why a value is refused, in plain words: our own reason, or what pydantic's type says."""
    context, kind = error.get("ctx", {}), error["type"]
    if context.get("error"):
        return str(context["error"])
    if kind in _PLAIN:
        return _PLAIN[kind].format(**context)
    if kind.endswith("_type"):
        return _BY_START.get(kind.split("_")[0], "it is of a kind that does not belong there")
    return _BY_START.get(kind.split("_")[0], str(error["msg"]))


def _phrase(place: tuple[int | str, ...], error: Any) -> str:
    return f"{'.'.join(str(part) for part in place)}: {_cause(error)}"


def _value_at(body: Any, loc: tuple[int | str, ...]) -> tuple[int | str, ...] | None:
    """The place of the value that an error is in: a field, or a field of a section (`FL`, `items`);
    None where it is in the body as a whole."""
    if not isinstance(body, dict) or not loc:
        return None
    section = body.get(str(loc[0]))
    if len(loc) > 1 and isinstance(section, dict) and "typed" not in section:
        return loc[:2] if loc[1] in section else loc[:1]
    return loc[:1]


def _without(body: dict[str, Any], place: tuple[int | str, ...]) -> dict[str, Any]:
    head = str(place[0])
    left = {name: value for name, value in body.items() if name != head}
    if len(place) > 1:
        left[head] = {name: value for name, value in body[head].items() if name != place[1]}
    return left
