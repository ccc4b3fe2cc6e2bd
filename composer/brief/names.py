"""Names people write for figures, and the figure each means.

A figure may be named by its id (``waltz/natural-turn``), its stem (``natural-turn``) or its title (``Natural
Turn``); case, spaces, hyphens and underscores make no difference. A bare name is looked up within the dances
asked for; a name that fits two of them is refused, never guessed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from composer.catalogue.model import Catalogue
from composer.errors import Diagnostic, Where, nearest

_GAPS = re.compile(r"[\s_\-]+")


def plain(name: str) -> str:
    """A name with case, spaces, hyphens and underscores evened out: ``Natural  Turn`` as ``natural-turn``."""
    folded = name
    for _ in range(2):  # once is not always the end of it
        folded = unicodedata.normalize("NFKC", folded).casefold()
    return "/".join(_GAPS.sub("-", part.strip()).strip("-") for part in folded.strip().split("/"))


@dataclass
class FigureNames:
    """Finds figures by name and collects a diagnostic for every name that fits none, or more than one.

    ``elsewhere`` holds ids of figures that exist on disk in dances not asked for; they are only known by name.
    ``family`` is the three-letter code family of the diagnostics (``BRF021`` unknown, ``BRF022`` ambiguous,
    ``BRF026`` of a dance that is not danced here).
    """

    catalogue: Catalogue
    dances: Sequence[str]
    elsewhere: Iterable[str] = ()
    family: str = "BRF"
    faults: list[Diagnostic] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.ids = [key for key, figure in self.catalogue.figures.items() if figure.chart.dance in self.dances]
        self.others = sorted(set(self.elsewhere) | (set(self.catalogue.figures) - set(self.ids)))
        self.by_name: dict[str, set[str]] = {}
        for key in self.ids:
            for name in (key, key.split("/")[-1], self.catalogue.figures[key].chart.name):
                self.by_name.setdefault(plain(name), set()).add(key)

    def find(self, name: str, where: Where, *, anywhere: bool = False) -> str | None:
        """The id meant by ``name``; None, with a diagnostic noted, when there is no single one.

        With ``anywhere`` a figure of a dance that is not danced here is fine (what somebody knows).
        """
        key = plain(name)
        found = sorted(self.by_name.get(key, ()))
        if len(found) == 1:
            return found[0]
        if found:
            one_of = " or ".join(f"'{item}'" for item in found)
            self._note("022", f"'{name}' is a figure of more than one dance asked for.", where, f"Write {one_of}.")
            return None
        known = [item for item in self.others if key in (plain(item), plain(item.split("/")[-1]))]
        if known and anywhere:
            return known[0]
        if known:
            dance = known[0].split("/")[0]
            self._note("026", f"'{name}' is a figure of {dance}, which is not danced here.", where, None)
            return None
        self._note("021", f"'{name}' is not a figure of this catalogue.", where, self.suggestion(name))
        return None

    def suggestion(self, name: str) -> str | None:
        """A remedy sentence with the nearest known name."""
        stems = sorted({key.split("/")[-1] for key in self.ids})
        close = nearest(plain(name).split("/")[-1], stems)
        if close is None and (whole := nearest(plain(name), sorted(self.by_name))):
            close = sorted(self.by_name[whole])[0].split("/")[-1]
        return f"Did you mean '{close}'?" if close else "`routine-composer figures list` shows all names."

    def _note(self, number: str, message: str, where: Where, remedy: str | None) -> None:
        self.faults.append(Diagnostic(f"{self.family}{number}", message, where, remedy))


def dances_in(roots: Iterable[Path]) -> dict[str, list[Path]]:
    """Dance names and the folders that hold their figures, from catalogue folders (the later ones lie on top)."""
    found: dict[str, list[Path]] = {}
    for root in roots:
        for folder in sorted(p for p in root.iterdir() if p.is_dir() and not p.name.startswith((".", "_"))):
            if any(folder.glob("*.yaml")):
                found.setdefault(folder.name, []).append(folder)
    return found


def figures_on_disk(roots: Iterable[Path]) -> list[str]:
    """Ids of all figure files in catalogue folders, by name only (nothing is read)."""
    return sorted(
        f"{dance}/{file.stem}"
        for dance, folders in dances_in(roots).items()
        for folder in folders
        for file in folder.glob("*.yaml")
        if file.stem != "dance"
    )
