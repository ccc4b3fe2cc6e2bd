"""What people take away: the sheet and everything written from it.

The names are looked up when they are first used: `figures show` needs the words of a chart, not the PDF writer.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from composer.report.folder import write_folder
    from composer.report.learning import Sessions
    from composer.report.model import Sheet
    from composer.report.sheet import sheet_from

__all__ = ["Sessions", "Sheet", "sheet_from", "write_folder"]

_HOMES = {"Sessions": "learning", "Sheet": "model", "sheet_from": "sheet", "write_folder": "folder"}


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
