"""Finding figures by the names people give on the command line, reading only the dances that may hold them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from composer.brief.names import dances_in, figures_on_disk, plain
from composer.catalogue.model import Catalogue, Figure
from composer.errors import BadInput, Diagnostic, Where, did_you_mean, nearest
from composer.resources import shipped

_TITLE = re.compile(rb"^name:\s*[\"']?([^\"'\n#]+)", re.MULTILINE)


def roots(own: Sequence[Path]) -> list[Path]:
    """The shipped catalogue and the user's folders on top.

    Raises
    ------
    BadInput
        ``CMD010`` for folders that are not there.
    """
    if faults := [
        Diagnostic("CMD010", "there is no such catalogue folder.", Where(str(folder)))
        for folder in own
        if not folder.is_dir()
    ]:
        raise BadInput(faults)
    return [shipped("catalog"), *own]


def known_dance(dance: str, own: Sequence[Path]) -> str:
    """The dance meant by a name.

    Raises
    ------
    BadInput
        ``CMD011`` if there is none.
    """
    known = sorted(dances_in(roots(own)))
    found = next((item for item in known if plain(item) == plain(dance)), None)
    if found is None:
        remedy = did_you_mean(dance, known) or f"Known dances: {', '.join(known)}."
        raise BadInput(Diagnostic("CMD011", f"'{dance}' is not a dance of this catalogue.", remedy=remedy))
    return found


def loaded(own: Sequence[Path], dances: Sequence[str] | None) -> Catalogue:
    """The catalogue of some dances, or of all."""
    from composer.catalogue import load_catalogue

    return load_catalogue(*own, dances=dances)


def find_figure(name: str, dance: str | None, own: Sequence[Path], *, alone: bool = False) -> tuple[Catalogue, Figure]:
    """The one figure meant by a name, and the catalogue of its dance (``alone``: with no other figure in it).

    Raises
    ------
    BadInput
        ``CMD012`` unknown (with the nearest), ``CMD013`` in more than one dance.
    """
    within = None if dance is None else known_dance(dance, own)
    ids = [key for key in figures_on_disk(roots(own)) if within is None or key.split("/")[0] == within]
    wanted = plain(name)
    found = [key for key in ids if wanted in (plain(key), plain(key.split("/")[-1]))] or _by_title(wanted, ids, own)
    if not found:
        stems = sorted({key.split("/")[-1] for key in ids})
        close = nearest(wanted.split("/")[-1], stems)
        remedy = f"Did you mean '{close}'?" if close else "`routine-composer figures list` shows all names."
        raise BadInput(Diagnostic("CMD012", f"'{name}' is not a figure of this catalogue.", remedy=remedy))
    if len(found) > 1:
        choices = " or ".join(f"'{key}'" for key in found)
        raise BadInput(
            Diagnostic("CMD013", f"'{name}' is a figure of more than one dance.", remedy=f"Write {choices}.")
        )
    from composer.catalogue import load_catalogue

    catalogue = load_catalogue(*own, dances=[found[0].split("/")[0]], only=found if alone else None)
    return catalogue, catalogue.figures[found[0]]


def _by_title(wanted: str, ids: Sequence[str], own: Sequence[Path]) -> list[str]:
    """Ids whose file says this title; the files are only skimmed."""
    folders, found = dances_in(roots(own)), []
    for key in ids:
        dance, stem = key.split("/")
        for folder in folders[dance]:
            file = folder / f"{stem}.yaml"
            if file.is_file() and (match := _TITLE.search(file.read_bytes()[:4000])) is not None:
                title = match.group(1).decode("utf-8", "replace")
                if plain(title) == wanted and key not in found:
                    found.append(key)
    return found
