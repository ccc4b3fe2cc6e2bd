"""What a brief file may say (format ``brief/1``): music, dances, couple, room and wishes.

This is the published contract (``routine-composer schema brief``). Bars and counts are 1-based as dancers
say them; a *count* in a wish is counted from the first danced beat of the routine.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, GetJsonSchemaHandler, field_validator, model_validator
from pydantic_core import CoreSchema

from composer.brief.leading import BothLead as BothLead
from composer.brief.leading import OtherRole, partner_meant
from composer.brief.roomschema import RoomGiven as RoomGiven
from composer.brief.roomschema import StartPlace as StartPlace
from composer.charts import Alignment, Caution, Count, Length, Strict
from composer.listening.corrections import Corrections


class SectionGiven(Strict):
    """One section of the music in whole bars, when the score does not mark it."""

    bars: int = Field(ge=1, le=400)
    label: str = Field("", max_length=40)
    energy: int | None = Field(None, ge=1, le=5)


class LeftOut(Strict):
    """Bars of the music that are cut out, both included; what comes after moves forward."""

    first: int = Field(ge=1)
    last: int = Field(ge=1)

    @model_validator(mode="after")
    def _in_order(self) -> LeftOut:
        if self.last < self.first:
            raise ValueError("last comes before first")
        return self


class Hit(Strict):
    """A moment of the music that should be danced to."""

    bar: int = Field(ge=1)
    beat: Count = Field(default=1, validate_default=True)
    strength: int = Field(2, ge=1, le=3)


SAID_BY_A_TIMELINE = frozenset({"tune", "tempo", "bars", "beats_per_bar", "phrase_bars", "sections", "hits"})


class Music(Strict):
    """Exactly one of ``score``, ``beats``, ``timeline``, ``track`` or ``tempo`` says where the beats come from.

    With ``beats`` or ``timeline`` a ``track`` is not listened to: it is the recording that is played.
    """

    score: str | None = Field(None, description="MusicXML, ABC or MIDI file, relative to the brief")
    tune: int | None = Field(None, ge=1, description="which tune of an ABC collection")
    beats: str | None = Field(None, description="two-column text: seconds, beat number in the bar")
    timeline: str | None = Field(None, description="a timeline/1 file, as listen --out and cut write it")
    track: str | None = Field(None, description="audio file")
    tempo: float | None = Field(None, gt=20, lt=400, description="beats per minute")
    bars: int | None = Field(None, ge=1, le=2000)
    beats_per_bar: int | None = Field(None, ge=2, le=12)
    phrase_bars: int | None = Field(None, ge=1, le=64)
    first_bar: int = Field(1, ge=1)
    last_bar: int | None = Field(None, ge=1)
    leave_out: tuple[LeftOut, ...] = Field((), description="bars cut out of the music")
    sections: tuple[SectionGiven, ...] = ()
    hits: tuple[Hit, ...] = ()
    corrections: Corrections = Field(Corrections(), description="anchors that put right what was heard in a track")

    @model_validator(mode="after")
    def _one_source(self) -> Music:
        given = [name for name in ("score", "beats", "timeline", "track") if getattr(self, name) is not None]
        played = "track" in given and len(given) == 2 and given[0] != "score"
        if len(given) > 1 and not played:
            raise ValueError(f"give one of score, beats, timeline or track, not {' and '.join(given)}")
        if not given and (self.tempo is None or self.bars is None):
            raise ValueError("give score, beats, timeline or track, or else tempo and bars")
        if self.last_bar is not None and self.last_bar < self.first_bar:
            raise ValueError("last_bar comes before first_bar")
        if given != ["track"] and self.corrections != Corrections():
            raise ValueError("corrections are for a track that is listened to; other music is exact")
        if self.timeline is not None and (told := SAID_BY_A_TIMELINE & self.model_fields_set):
            raise ValueError(f"the timeline says this already; leave out {' and '.join(sorted(told))}")
        return self


class Dancer(Strict):
    """What one partner has learned: every figure up to ``level``, plus ``knows``, less ``not_yet``.

    Where both partners lead this holds for both roles, unless ``other_role`` says what is so in the other one.
    """

    name: str = Field("", max_length=300)
    level: int = Field(1, ge=0, le=5)
    knows: tuple[str, ...] = ()
    not_yet: tuple[str, ...] = ()
    stature: Length | None = Field(None, description="body height")
    avoid: tuple[Caution, ...] = Field((), description="kinds of hold this partner avoids")
    other_role: OtherRole | None = Field(None, description="what holds in the other role, where both partners lead")

    def learned(self, *, swapped: bool) -> Dancer | OtherRole:
        """What holds in the role danced while the brief's leader leads or (``swapped``) the brief's follower does."""
        return self.other_role if swapped and self.other_role is not None else self


class Couple(Strict):
    """Both partners, the kinds of hold they avoid, and those that need their consent and have it."""

    leader: Dancer = Dancer()
    follower: Dancer = Dancer()
    avoid: tuple[Caution, ...] = ()
    accept: tuple[Caution, ...] = Field((), description="behind-the-back, dips, lifts ... are off unless listed here")
    both_lead: BothLead | None = Field(None, description="each partner leads part of the time")

    @field_validator("both_lead", mode="before")
    @classmethod
    def _plain_no(cls, given: Any) -> Any:
        return None if given is False else given

    @model_validator(mode="after")
    def _partners_named(self) -> Couple:
        wish, names = self.both_lead, (self.leader.name, self.follower.name)
        if wish is None:
            if self.leader.other_role is not None or self.follower.other_role is not None:
                raise ValueError("other_role is for partners who both lead; add both_lead: true")
            return self
        said = [part.leads for part in wish.parts]
        said += [wish.begins] if wish.begins is not None and wish.begins.casefold() != "either" else []
        for word in said:
            if partner_meant(word, *names) is None:
                known = ", ".join(dict.fromkeys(["leader", "follower", *(name for name in names if name)]))
                raise ValueError(f"'{word}' is not one of the couple; write one of {known}")
        return self


class Must(Strict):
    """A figure that has to occur: how often at least, and at which count when given; a bare name is once, anywhere."""

    figure: str
    times: int = Field(1, ge=1, le=50)
    at: int | None = Field(None, ge=1, description="count of the routine at which it begins")

    @model_validator(mode="before")
    @classmethod
    def _bare_name(cls, given: Any) -> Any:
        return {"figure": given} if isinstance(given, str) else given

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        table = handler.resolve_ref_schema(handler(schema))
        return {"anyOf": [{"type": "string", "description": "a figure's name"}, table]}


class Repeats(Strict):
    """How often one figure may come, and how many counts of other figures lie between two of the same.

    ``apart: 0`` allows a figure to be repeated at once, ``apart: 1`` wants something else in between.
    """

    most: int | None = Field(None, ge=1, le=100)
    apart: int = Field(0, ge=0, le=400, description="counts of other figures between two of the same")


class Standing(Strict):
    """How the couple stands at the beginning or the end."""

    hold: str | None = None
    faces: Alignment | Literal["audience", "any"] = "any"
    figure: str | None = None


Weight = Annotated[int, Field(ge=0, le=10)]


class Knobs(Strict):
    """How much each part of the score matters (0 = not at all)."""

    music: Weight = 3
    variety: Weight = 3
    energy: Weight = 2
    flow: Weight = 1
    floor: Weight = 1
    memory: Weight = 0
    spread: Weight = Field(0, description="use of the floor: quarters danced in, but for a travelling floor")


class Spinning(Strict):
    """How much either partner may turn the same way; turning back undoes it."""

    turns: int = Field(ge=1, le=20, description="full turns the same way, at most")
    within: int = Field(ge=1, le=400, description="in any stretch of so many counts")


class Learning(Strict):
    """New figures the couple would learn for this routine."""

    most: int = Field(ge=1, le=100, description="different figures beyond what both have learned, at most")
    level: int = Field(ge=1, le=5, description="highest level of such a figure")


class Signature(Strict):
    """A figure by which the couple is known: it returns in every section, or in every section with a label."""

    figure: str
    section: str = Field("", max_length=40, description="label of the sections; every section when left out")


class Wishes(Strict):
    """What the couple would like. Each can be given up; the laws of bodies and walls cannot."""

    must: tuple[Must, ...] = ()
    never: tuple[str, ...] = ()
    prefer: dict[str, Annotated[int, Field(ge=-20, le=20)]] = {}
    repeats: Repeats = Repeats()
    at_least_different: int | None = Field(None, ge=1, description="least number of different figures")
    at_most_different: int | None = Field(None, ge=1, description="most different figures to remember")
    learn: Learning | None = Field(None, description="learning budget: figures beyond the couple's levels")
    alike: bool = Field(False, description="sections with the same label are danced with the same figures")
    varied: int | None = Field(
        None, ge=1, le=100, description="of sections with the same label at least so many per cent are danced alike"
    )
    signature: Signature | None = None
    answer: bool = Field(False, description="phrases in pairs: the second begins like the first and ends otherwise")
    build_up: str | None = Field(None, max_length=40, description="sections with this label rise in energy to the last")
    breath: int | None = Field(
        None, ge=2, le=5, description="after a figure of this energy or more comes a quieter one"
    )
    final_hit: bool = Field(False, description="the last figure has its peak on the last hit of the music")
    spinning: Spinning | None = None
    protect: Literal["sections", "phrases", "nothing"] = "sections"
    hits: Literal["must", "prefer", "ignore"] = "prefer"
    final_pose: bool = False
    spread: int | None = Field(
        None, ge=2, le=4, description="of the four quarters of the floor at least so many are used"
    )
    opening: Standing = Standing()
    closing: Standing = Standing()
    weights: Knobs = Knobs()


class BriefFile(Strict):
    """A whole brief."""

    format: Literal["brief/1"]
    title: str = Field(min_length=1, max_length=300)
    dance: str | tuple[str, ...]
    catalogues: tuple[str, ...] = Field((), description="own catalogue folders, relative to the brief")
    music: Music
    couple: Couple = Couple()
    room: RoomGiven | None = None
    wishes: Wishes = Wishes()

    @property
    def dances(self) -> tuple[str, ...]:
        """The dances asked for."""
        return (self.dance,) if isinstance(self.dance, str) else self.dance
