"""A small picture of how the couple stands, seen from above with the plan's north up."""

from __future__ import annotations

from composer.report.model import Spot
from composer.report.plan import dancer
from composer.report.svg import element

SIZE = 76.0
PX_PER_MM = 0.042


def stance_svg(leader: Spot, follower: Spot, label: str) -> str:
    """Square leader and circle follower at their true distance."""
    mid_x, mid_y = (leader.x_mm + follower.x_mm) / 2, (leader.y_mm + follower.y_mm) / 2

    def at(spot: Spot) -> tuple[float, float]:
        return SIZE / 2 + (spot.x_mm - mid_x) * PX_PER_MM, SIZE / 2 - (spot.y_mm - mid_y) * PX_PER_MM

    return element(
        "svg",
        element("rect", cls="card line", x=0.5, y=0.5, width=SIZE - 1, height=SIZE - 1, rx=8),
        dancer(*at(follower), follower.facing16, "follower", 7.5),
        dancer(*at(leader), leader.facing16, "leader", 7),
        viewBox=f"0 0 {SIZE:.0f} {SIZE:.0f}",
        role="img",
        aria_label=label,
        cls="stance",
    )
