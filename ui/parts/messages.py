"""What a browser says, read as a stranger's: types, sizes and numbers are checked by the records themselves."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from mockup.stylelines.styleline import End, LineKind
from swatches.errors import InputError

POINTS = 60
"""Most points of a style line; more is a slip, not a design."""


class _Strict(BaseModel):
    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)


class EndSaid(_Strict):
    """A line's end as the page sends it."""

    edge: str = Field(max_length=40)
    landmark: str = Field(max_length=40)
    distance_mm: float = Field(ge=0, le=10_000)
    side: str | None = Field(default=None, pattern="^(left|right)$")
    text: str = Field(default="", max_length=60)

    def end(self) -> End:
        """The record."""
        return End(self.edge, self.landmark, self.distance_mm, self.side, self.text)


class LineSaid(_Strict):
    """A moved line as the page sends it."""

    id: str = Field(max_length=60)
    kind: LineKind
    start: EndSaid
    end: EndSaid
    through: list[tuple[float, float]] = Field(max_length=POINTS)


class Commit(_Strict):
    """Lines let go by one window."""

    edit: int = Field(ge=0, le=2**53)
    client: str = Field(default="", max_length=20)
    changes: list[LineSaid] = Field(max_length=8)


class Drawn(_Strict):
    """A line drawn by hand."""

    side: str = Field(pattern="^(front|back)$")
    kind: LineKind
    start: EndSaid
    end: EndSaid
    through: list[tuple[float, float]] = Field(default=[], max_length=POINTS)
    symmetric: bool = False


class Stroke(_Strict):
    """What is sewn in already, marked over the picture."""

    side: str = Field(pattern="^(front|back)$")
    kind: str = Field(max_length=20)
    points: list[tuple[float, float]] = Field(max_length=POINTS)


def read(model: type[Any], message: object) -> Any:
    """Read a message as one of the records here.

    Raises:
        InputError: it does not fit.
    """
    try:
        return model.model_validate(message)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        raise InputError(
            "the line",
            expected="up to 60 points with plain numbers",
            got=f"{'.'.join(str(p) for p in first['loc'])}: {first['msg']}",
            next_step="Draw it again",
        ) from error


def text_of(message: dict[str, Any], key: str) -> str:
    """A text of a message.

    Raises:
        InputError: it is no text, or longer than 200.
    """
    value = message.get(key)
    if not isinstance(value, str) or len(value) > 200:
        raise InputError("request", expected=f"{key} as text", got=str(value), next_step="Open the page again")
    return value


def number_of(message: dict[str, Any], key: str) -> int:
    """A whole number of a message.

    Raises:
        InputError: it is none.
    """
    value = message.get(key)
    if not isinstance(value, int) or isinstance(value, bool):
        raise InputError("request", expected=f"{key} as a number", got=str(value), next_step="Open the page again")
    return value
