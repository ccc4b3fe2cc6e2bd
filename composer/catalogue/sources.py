"""Finds the files of a catalogue: the built-in folder and the user's own, layered.

A folder holds one folder per dance (``dance.yaml`` is its page, every other ``.yaml`` a figure) and may hold a
``holds.yaml``. A later layer replaces files of the same name and adds to the holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from composer.charts import HoldsFile
from composer.errors import BadInput, Diagnostic, Where
from composer.resources import shipped
from composer.textfiles import Document, read_bytes, validated, yaml_document

PAGE = "dance"


@dataclass(frozen=True)
class Source:
    """One file: where it lies and the name diagnostics give it."""

    path: Path
    shown: str

    def read(self) -> bytes:
        """Its bytes.

        Raises
        ------
        BadInput
            If it cannot be read.
        """
        return read_bytes(self.path)


@dataclass
class Sources:
    """Files by id (``waltz/whisk``), pages by dance, holds in order of the layers."""

    figures: dict[str, Source] = field(default_factory=dict)
    pages: dict[str, Source] = field(default_factory=dict)
    holds: list[Source] = field(default_factory=list)


def find_sources(extra: Iterable[Path]) -> Sources:
    """All files of the built-in catalogue and of the folders layered over it.

    Raises
    ------
    BadInput
        If one of the folders does not exist or cannot be read.
    """
    found = Sources()
    faults: list[Diagnostic] = []
    built_in = shipped("catalog")
    for folder in (built_in, *extra):
        try:
            _add_layer(found, folder, "catalog" if folder == built_in else str(folder))
        except OSError as problem:
            reason = problem.strerror or str(problem)
            faults.append(Diagnostic("YML001", f"this catalogue folder cannot be read: {reason}.", Where(str(folder))))
    if faults:
        raise BadInput(faults)
    return found


def _add_layer(found: Sources, folder: Path, shown: str) -> None:
    for entry in sorted(folder.iterdir()):
        if entry.name == "holds.yaml":
            found.holds.append(Source(entry, f"{shown}/{entry.name}"))
        elif entry.is_dir() and not entry.name.startswith((".", "_")):
            for file in sorted(entry.glob("*.yaml")):
                if file.name.startswith("."):
                    continue
                source = Source(file, f"{shown}/{entry.name}/{file.name}")
                if file.stem == PAGE:
                    found.pages[entry.name] = source
                else:
                    found.figures[f"{entry.name}/{file.stem}"] = source


def document_of(raw: bytes, shown: str) -> Document:
    """Parse YAML bytes.

    Raises
    ------
    BadInput
        If they are no text or not well-formed.
    """
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(Diagnostic("YML002", "is not a text file (UTF-8 is needed).", Where(shown))) from None
    return yaml_document(text, shown)


def read_holds(sources: Iterable[Source]) -> tuple[HoldsFile, bytes]:
    """Stances and holds of all layers, the later ones added to (and replacing) the earlier; and their bytes.

    Raises
    ------
    BadInput
        With every fault of the first layer that has one.
    """
    stances: dict[str, object] = {}
    holds: dict[str, object] = {}
    merged: HoldsFile | None = None
    parts = []
    for source in sources:
        raw = source.read()
        parts.append(raw)
        document = document_of(raw, source.shown)
        data = dict(document.data) if isinstance(document.data, dict) else document.data
        if isinstance(data, dict):
            for key, known in (("stances", stances), ("holds", holds)):
                own = data.get(key, {})
                if isinstance(own, dict):
                    known.update(own)
                    data[key] = dict(known)
        merged = validated(HoldsFile, Document(document.file, data, document.lines), code="HLD")
        _check_holds(merged, document)
    if merged is None:
        raise BadInput(Diagnostic("HLD004", "no holds.yaml was found in any catalogue folder."))
    return merged, b"\0".join(parts)


def _check_holds(holds: HoldsFile, document: Document) -> None:
    faults = []
    for name, stance in holds.stances.items():
        gap = (stance.forward**2 + stance.right**2) ** 0.5
        if not stance.least <= gap <= stance.most:
            faults.append(
                Diagnostic(
                    "HLD010",
                    f"the place is {gap / 10:.0f} cm from the leader, outside least and most.",
                    document.where("stances", name),
                    "Let forward and right lie between least and most.",
                )
            )
    for name, hold in holds.holds.items():
        for side, who in ((0, "leader"), (1, "follower")):
            hands = [joined.pair[side] for joined in hold.hands]
            if len(hands) != len(set(hands)):
                faults.append(
                    Diagnostic("HLD011", f"one hand of the {who} is in two pairs.", document.where("holds", name))
                )
        if (hold.top is not None) != (hold.lie == "crossed"):
            faults.append(
                Diagnostic(
                    "HLD012", "'top' belongs to crossed hands, and crossed hands need it.",
                    document.where("holds", name),
                )
            )  # fmt: skip
    if faults:
        raise BadInput(faults)
