"""Changing a routine that exists: least change with history, alternatives, what to learn next, cuts."""

from composer.revise.handmade import best_opened
from composer.revise.opened import open_routine
from composer.revise.output import check_home, restore, write_revision
from composer.revise.revision import Failed, Faulty, Request, Revised, revise
from composer.versions import load_versions

__all__ = [
    "Failed",
    "Faulty",
    "Request",
    "Revised",
    "best_opened",
    "check_home",
    "load_versions",
    "open_routine",
    "restore",
    "revise",
    "write_revision",
]
