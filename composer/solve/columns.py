"""Tables of walks: records of arrays with a row per walk, some of them kept and several joined."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from composer.solve.linear import Ints

Whole = NDArray[Any]
"""Whole numbers in as few bits as hold them."""


class Columns:
    """A dataclass whose fields are arrays with a row per walk, or such tables themselves."""

    def take(self, chosen: Ints) -> Self:
        """Some of the rows."""
        return type(self)(**{name: _taken(value, chosen) for name, value in self._columns()})

    @classmethod
    def joined(cls, parts: list[Self]) -> Self:
        """All rows of several tables one after another. The tables are used up: no column is held twice for long."""
        if len(parts) == 1:
            return parts[0]
        return cls(**{name: _joined([part.__dict__.pop(name) for part in parts]) for name, _ in parts[0]._columns()})

    @property
    def bytes_each(self) -> int:
        """Memory of one row."""
        values = (value for _, value in self._columns())
        return sum(v.bytes_each if isinstance(v, Columns) else v.itemsize * v[:1].size for v in values)

    def _columns(self) -> list[tuple[str, Any]]:
        return [(field.name, getattr(self, field.name)) for field in fields(self)]  # type: ignore[arg-type]


def _taken(value: Any, chosen: Ints) -> Any:
    return value.take(chosen) if isinstance(value, Columns) else value[chosen]


def _joined(values: list[Any]) -> Any:
    first = values[0]
    return type(first).joined(values) if isinstance(first, Columns) else np.concatenate(values)
