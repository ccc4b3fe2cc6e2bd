"""Small helpers for writing SVG as text: escaping, elements, the palette of our pictures.

Colours are CSS variables: a stand-alone picture brings :data:`STYLE`; inside a page the page's own values apply.
Leader and follower differ in shape and line as well as in colour (square and solid, circle and dashed).
"""

from __future__ import annotations

from html import escape
from typing import Final

TINTS: Final = 8

LIGHT: Final = (
    "--paper:#fbf8f3;--card:#ffffff;--ink:#23262d;--soft:#5a5e68;--line:#cfc8bb;--faint:#ece6da;"
    "--lead:#0b5a63;--lead-wash:#dcecec;--follow:#8c2a5c;--follow-wash:#f6e3ec;--mark:#8a5300;--mark-wash:#fbe9c8;"
    "--t0:#dbe8d9;--t1:#f6e0d2;--t2:#dde3f3;--t3:#f3e6bf;--t4:#ead9ee;--t5:#cfe9ea;--t6:#f4d6da;--t7:#e3e0d4"
)
DARK: Final = (
    "--paper:#15181d;--card:#1e2229;--ink:#efebe4;--soft:#b4b7be;--line:#454b56;--faint:#2a2f38;"
    "--lead:#72ced3;--lead-wash:#143a3e;--follow:#f4a3c6;--follow-wash:#46213a;--mark:#ecbd6a;--mark-wash:#453415;"
    "--t0:#2f4a35;--t1:#563a2a;--t2:#323e63;--t3:#524620;--t4:#4a3353;--t5:#1f4a4d;--t6:#582f37;--t7:#45433a"
)
SHAPES: Final = (
    "text.on{fill:var(--card)!important}"
    "text{font-family:'Avenir Next','Segoe UI','Noto Sans','DejaVu Sans',sans-serif;fill:var(--ink)}"
    ".soft{fill:var(--soft)}.lead{stroke:var(--lead);fill:none}.follow{stroke:var(--follow);fill:none}"
    ".lead-fill{fill:var(--lead)}.follow-fill{fill:var(--follow)}.mark-fill{fill:var(--mark)}"
    ".line{stroke:var(--line);fill:none}.faint{stroke:var(--faint);fill:none}.wall{stroke:var(--ink);fill:var(--card)}"
    ".paper{fill:var(--paper)}.card{fill:var(--card)}.wash{fill:var(--mark-wash)}"
    + "".join(f".t{i}{{fill:var(--t{i})}}" for i in range(TINTS))
)
STYLE: Final = (
    f":root{{{LIGHT}}}@media (prefers-color-scheme:dark){{:root{{{DARK}}}}}@media print{{:root{{{LIGHT}}}}}{SHAPES}"
)

Value = str | int | float


def attributes(values: dict[str, Value]) -> str:
    """``cls`` becomes ``class``, underscores become hyphens; numbers are written short."""
    return "".join(f' {_name(key)}="{escape(number(value), quote=True)}"' for key, value in values.items())


def _name(key: str) -> str:
    return "class" if key == "cls" else key.replace("_", "-")


def number(value: Value) -> str:
    """Numbers with at most one decimal, without trailing zeros."""
    if isinstance(value, str):
        return value
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def element(tag: str, *inside: str, **values: Value) -> str:
    """An element around parts that are already SVG."""
    return f"<{tag}{attributes(values)}>{''.join(inside)}</{tag}>" if inside else f"<{tag}{attributes(values)}/>"


def text(words: str, x: float, y: float, size: float, **values: Value) -> str:
    """A line of text; user text in it is isolated so that right-to-left names do not reorder their surroundings."""
    return element("text", escape(words), x=x, y=y, font_size=size, style="unicode-bidi:isolate", **values)


def path(points: list[tuple[float, float]]) -> str:
    """The ``d`` of a polyline."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def shortened(words: str, room: float, size: float) -> str:
    """Words cut with an ellipsis so that they fit a width, with a cautious mean letter width."""
    most = int(room / (size * 0.56))
    if len(words) <= most:
        return words
    return words[: most - 1].rstrip() + "…" if most >= 3 else ""


def picture(width: float, height: float, title: str, about: str, *inside: str, standalone: bool = True) -> str:
    """A whole picture with title and description for screen readers."""
    head = element("title", escape(title)) + element("desc", escape(about))
    style = element("style", STYLE) if standalone else ""
    values: dict[str, Value] = {
        "viewBox": f"0 0 {number(width)} {number(height)}",
        "role": "img",
        "xmlns": "http://www.w3.org/2000/svg",
    }
    if standalone:
        values |= {"width": width, "height": height}
    else:
        values["aria-label"] = f"{title}. {about}"
    backing = element("rect", cls="paper", width=width, height=height) if standalone else ""
    return element("svg", head, style, backing, *inside, **values)
