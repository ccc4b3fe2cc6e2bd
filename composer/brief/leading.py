"""What a brief may say about a couple in which each partner leads part of the time (``couple.both_lead``)."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema

from composer.charts import Caution, Strict

Partner = Literal["leader", "follower"]
"""The two persons, by what the brief calls them; with both leading, ``leader`` is who is named there, not who leads."""


class OtherRole(Strict):
    """What a partner has learned in the role they dance only part of the time, and avoids in it."""

    level: int = Field(1, ge=0, le=5)
    knows: tuple[str, ...] = ()
    not_yet: tuple[str, ...] = ()
    avoid: tuple[Caution, ...] = Field((), description="kinds of hold this partner avoids in that role")


class ChangesOfLead(Strict):
    """How often the partners change roles; a bare number is exactly so often."""

    least: int | None = Field(None, ge=1, le=100)
    most: int | None = Field(None, ge=1, le=100)

    @model_validator(mode="before")
    @classmethod
    def _bare_number(cls, given: Any) -> Any:
        number = isinstance(given, int) and not isinstance(given, bool)
        return {"least": given, "most": given} if number else given

    @model_validator(mode="after")
    def _in_order(self) -> ChangesOfLead:
        if self.least is not None and self.most is not None and self.most < self.least:
            raise ValueError("most is less than least")
        return self

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        table = handler.resolve_ref_schema(handler(schema))
        return {"anyOf": [{"type": "integer", "minimum": 1, "description": "exactly so often"}, table]}


class LeadPart(Strict):
    """Who leads all figures that begin in a section with a label, or on these counts (both included)."""

    leads: str = Field(max_length=300, description="leader, follower, or the name the brief gives one of them")
    section: str | None = Field(None, max_length=40)
    first: int | None = Field(None, ge=1)
    last: int | None = Field(None, ge=1)

    @model_validator(mode="after")
    def _one_place(self) -> LeadPart:
        counts = self.first is not None or self.last is not None
        if counts == (self.section is not None):
            raise ValueError("say where: either a section, or first and last count")
        if counts and (self.first is None or self.last is None or self.last < self.first):
            raise ValueError("give first and last count, the first not after the last")
        return self


class BothLead(Strict):
    """Each partner leads part of the time; ``true`` leaves how often and where to the composer."""

    begins: str | None = Field(
        None, max_length=300, description="who leads first: leader (if left out), follower, a name, or either"
    )
    changes: ChangesOfLead | None = Field(None, description="how often the partners change roles")
    at_a_time: int = Field(8, ge=1, le=400, description="counts each leads at a time, at least")
    share: int | None = Field(None, ge=1, le=50, description="each leads at least so many per cent of the counts")
    parts: tuple[LeadPart, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _just_yes(cls, given: Any) -> Any:
        return {} if given is True else given

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        table = handler.resolve_ref_schema(handler(schema))
        return {"anyOf": [{"const": True, "description": "each leads some"}, table]}


def partner_meant(name: str, leader_name: str, follower_name: str) -> Partner | None:
    """Which of the two a word means: ``leader``, ``follower``, or a name the brief gives; None when it is neither."""
    word = name.strip().casefold()
    if word in ("leader", "follower"):
        return "leader" if word == "leader" else "follower"
    meant: list[Partner] = []
    if word and word == leader_name.strip().casefold():
        meant.append("leader")
    if word and word == follower_name.strip().casefold():
        meant.append("follower")
    return meant[0] if len(meant) == 1 else None
