"""``sheet.html``: one self-contained page that lays out a sheet. Computes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from typing import TYPE_CHECKING

from composer.report.directions import compass_for
from composer.report.footchart import foot_chart_svg
from composer.report.model import FigureLine, Sheet
from composer.report.plan import plan_pictures
from composer.report.stance import stance_svg
from composer.report.strip import timeline_svg
from composer.report.svg import DARK, LIGHT, SHAPES
from composer.report.words import clean

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup


def shipped_text(name: str) -> str:
    """A file of ``composer/report/templates``."""
    return files("composer.report").joinpath("templates", name).read_text(encoding="utf-8")


def palette_css() -> str:
    """The palette as CSS: light, dark by preference, always light on paper."""
    return (
        f":root{{color-scheme:light dark;{LIGHT}}}"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{DARK}}}}}{SHAPES}"
    )


def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(
        loader=FunctionLoader(shipped_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _stance(figure: FigureLine, which: int) -> Markup:
    from markupsafe import Markup

    still = figure.stills[which]
    station = figure.entry if which == 0 else figure.exit
    label = f"{station.hold}: leader {station.leader_faces}, follower {station.follower_faces}"
    return Markup(stance_svg(still.leader, still.follower, label))


def sheet_html(sheet: Sheet) -> str:
    """The page as text. User text is escaped by the template engine and isolated for mixed directions."""
    from markupsafe import Markup

    return (
        _environment()
        .get_template("sheet.html")
        .render(
            sheet=sheet,
            partners=sheet.partners if sheet.both_lead else ("leader", "follower"),
            by_number={figure.number: figure for figure in sheet.figures},
            first_of={figure.id: figure.number for figure in reversed(sheet.figures)},
            css=Markup(palette_css() + shipped_text("sheet.css")),
            js=Markup(shipped_text("sheet.js")),
            plans=[(heading, Markup(drawing)) for heading, drawing in plan_pictures(sheet)],
            timeline=Markup(timeline_svg(sheet, standalone=False)),
            stance=_stance,
            feet=lambda figure: Markup(foot_chart_svg(figure.feet, standalone=False)),
        )
    )


def figures_html(figures: Sequence[FigureLine], title: str) -> str:
    """A page that shows figures by themselves (see :func:`composer.report.figureline.lone_figure`): drawn, both
    charts, how they are led."""
    from markupsafe import Markup

    return (
        _environment()
        .get_template("figures.html")
        .render(
            figures=figures,
            title=clean(title),
            css=Markup(palette_css() + shipped_text("sheet.css")),
            stance=_stance,
            feet=lambda figure: Markup(foot_chart_svg(figure.feet, standalone=False)),
            direction_note=compass_for(None, True).note,
        )
    )
