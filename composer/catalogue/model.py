"""The catalogue in memory: figures that have passed simulation, holds, stances and dances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from composer.charts import DanceFile, FigureFile, Foot, HoldFile, StanceFile, Style
from composer.kinematics.motion import Motion


@dataclass(frozen=True)
class Stand:
    """How the couple stands between two figures: hold, leader's facing (0..7) and both free feet."""

    hold: str
    faces: int
    leader_free: Foot
    follower_free: Foot


@dataclass(frozen=True)
class Figure:
    """A figure of the catalogue: its file, its identity and its simulated motion. ``id`` is unique in a catalogue."""

    id: str
    chart: FigureFile
    motion: Motion
    file: str
    styles: tuple[Style, ...]

    @cached_property
    def length_ticks(self) -> int:
        """Length in ticks."""
        return self.chart.length_ticks

    @cached_property
    def leader_turn(self) -> int:
        """Net turn of the leader in eighths, clockwise positive."""
        return self.motion.leader_turn16 // 2

    @cached_property
    def peak_tick(self) -> int | None:
        """Ticks from the start of the figure to its peak count, when it has one."""
        from composer.units import ticks_from_beats

        return None if self.chart.peak is None else ticks_from_beats(self.chart.peak - 1)

    def end_of(self, faces: int) -> Stand:
        """How the couple stands afterwards when the leader faced ``faces`` at the start."""
        end = self.chart.exit
        return Stand(end.hold, (faces + self.leader_turn) % 8, end.leader_free, end.follower_free)


@dataclass(frozen=True)
class Catalogue:
    """Figures by id (sorted), holds, stances and dances."""

    figures: Mapping[str, Figure]
    holds: Mapping[str, HoldFile]
    stances: Mapping[str, StanceFile]
    dances: Mapping[str, DanceFile]
    digest: str
    _swapped: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def fits(self, have: str, need: str) -> bool:
        """Whether a couple standing in hold ``have`` can begin a figure that needs hold ``need``.

        They must stand alike, and every pair of hands the figure needs must be joined in the same way; other
        hands are simply let go. A frame and crossed, wrapped or behind-the-back arms must match exactly.
        """
        if have == need:
            return True
        a, b = self.holds[have], self.holds[need]
        if a.stance != b.stance or a.frame or b.frame:
            return False
        if not (a.lie in {"open", "free"} and b.lie in {"open", "free"}):
            return False
        return set(b.hands) <= set(a.hands)

    def handed_over(self, stand: Stand) -> tuple[Stand, ...]:
        """The ways the couple stands once its partners have changed roles, as the new leader has it; () where hands
        and stance do not allow a change. ``faces`` is then the new leader's facing.
        """
        from composer.catalogue.roles import swapped_holds

        if stand.hold not in self._swapped:
            self._swapped[stand.hold] = tuple(swapped_holds(self, stand.hold))
        faces = self.faces_over(stand.hold, stand.faces)
        return tuple(Stand(hold, faces, stand.follower_free, stand.leader_free) for hold in self._swapped[stand.hold])

    def faces_over(self, hold: str, faces: int) -> int:
        """The follower's facing (eighths) in a hold whose leader faces ``faces``: the new leader's after a change."""
        return (faces + self.stances[self.holds[hold].stance].facing // 2) % 8

    def takes_over(self, stand: Stand, figure: Figure) -> bool:
        """Whether ``figure`` can begin where the couple stands with the other partner leading."""
        return any(self.joins(other, figure) for other in self.handed_over(stand))

    def lets_go(self, have: str, need: str, *, swapped: bool = False) -> bool:
        """Whether hands are let go so that a figure in hold ``need`` can begin (after a change of roles)."""
        if not swapped:
            return have != need
        return len(self.holds[need].hands) != len(self.holds[have].hands)

    def only_first(self, figure: Figure) -> bool:
        """Whether the figure leads from no hold into the dance and so belongs at its beginning."""
        hold = self.holds[figure.chart.entry.hold]
        return "opening" in figure.chart.good_for and not hold.hands and not hold.frame

    def only_last(self, figure: Figure) -> bool:
        """Whether the figure stops in a pose or a bow and so belongs at the end."""
        return "ending" in figure.chart.good_for

    def joins(self, stand: Stand, figure: Figure) -> bool:
        """Whether ``figure`` can begin where the couple stands (alignment rules of the room apart)."""
        entry = figure.chart.entry
        return (
            self.fits(stand.hold, entry.hold)
            and stand.leader_free == entry.leader_free
            and stand.follower_free == entry.follower_free
        )
