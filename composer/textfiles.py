"""Text files in and out: YAML with the line of every key kept, JSON, and writing that never half-writes.

Reading refuses, with one diagnostic: missing or unreadable files, files above ``MAX_BYTES``, binary or
non-UTF-8 content, broken YAML, keys given twice, anchors that contain themselves, nesting too deep.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, TypeVar

import yaml
from pydantic import BaseModel, ValidationError

from composer.errors import BadInput, Diagnostic, Where, did_you_mean

MAX_BYTES: Final = 2_000_000
MAX_NODES: Final = 200_000
MAX_DEPTH: Final = 60
MAX_NUMBER: Final = 10**15

KeyPath = tuple[str | int, ...]
Model = TypeVar("Model", bound=BaseModel)


def key_text(path: KeyPath) -> str:
    """``('wishes', 'never', 2)`` as ``wishes.never[2]``."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else (f".{part}" if text else str(part))
    return text


@dataclass(frozen=True)
class Document:
    """Plain data read from a text file together with the line of every key."""

    file: str
    data: Any
    lines: Mapping[KeyPath, int] = field(default_factory=dict)

    def where(self, *path: str | int) -> Where:
        """The place of a key; the nearest enclosing key that has a line when it has none itself."""
        probe: KeyPath = path
        while probe and probe not in self.lines:
            probe = probe[:-1]
        return Where(self.file, self.lines.get(probe), key_text(path) or None)

    @property
    def digest(self) -> str:
        """What a routine record says about the brief it was made for: the same for the same data."""
        return digest_of(self.data)


def read_bytes(path: Path, *, code: str = "YML001", limit: int = MAX_BYTES) -> bytes:
    """The bytes of a file.

    Raises
    ------
    BadInput
        If the file is missing, a folder, unreadable or larger than ``limit`` bytes.
    """
    try:
        if path.is_dir():
            raise BadInput(Diagnostic(code, "this is a folder, a file is needed.", Where(str(path))))
        if path.exists() and not path.is_file():  # a pipe would wait for ever, a device never ends
            raise BadInput(Diagnostic(code, "this is not an ordinary file.", Where(str(path))))
        size = path.stat().st_size
        if size <= limit:
            with path.open("rb") as stream:
                content = stream.read(limit + 1)
            size = max(size, len(content))
        if size > limit:
            raise BadInput(
                Diagnostic(code, f"the file has {size} bytes; at most {limit} are read here.", Where(str(path)))
            )
        return content
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise BadInput(Diagnostic(code, f"cannot be read: {reason}.", Where(str(path)))) from None


def read_yaml(path: Path) -> Document:
    """Read one YAML file, keeping lines.

    Raises
    ------
    BadInput
        See the module header.
    """
    raw = read_bytes(path)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(Diagnostic("YML002", "is not a text file (UTF-8 is needed).", Where(str(path)))) from None
    return yaml_document(text, str(path))


def yaml_document(text: str, file: str) -> Document:
    """Parse YAML text; ``file`` names it in diagnostics."""
    try:
        node = yaml.compose(text, Loader=yaml.CSafeLoader if hasattr(yaml, "CSafeLoader") else yaml.SafeLoader)
    except (yaml.YAMLError, RecursionError, ValueError) as problem:
        mark = getattr(problem, "problem_mark", None)
        reason = getattr(problem, "problem", None) or "the structure cannot be read"
        line = mark.line + 1 if mark is not None else None
        raise BadInput(Diagnostic("YML003", f"is not well-formed YAML: {reason}.", Where(file, line))) from None
    if node is None:
        raise BadInput(Diagnostic("YML004", "is empty.", Where(file)))
    walker = _Walker(file)
    return Document(file, walker.value(node, (), frozenset()), walker.lines)


class _Walker:
    """Turns YAML nodes into plain data and remembers lines; refuses cycles, repeats and bombs."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.lines: dict[KeyPath, int] = {}
        self.count = 0
        self.scalars = yaml.SafeLoader("")

    def value(self, node: yaml.Node, path: KeyPath, above: frozenset[int]) -> Any:
        line = node.start_mark.line + 1
        self.lines.setdefault(path, line)
        self.count += 1
        if id(node) in above:
            self.refuse("YML005", "an anchor contains itself.", line, path)
        if self.count > MAX_NODES or len(path) > MAX_DEPTH:
            self.refuse("YML006", "is nested too deeply or expands to too much data.", line, path[:6])
        above = above | {id(node)}
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, path, above)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(item, (*path, i), above) for i, item in enumerate(node.value)]
        try:
            found = self.scalars.construct_object(node)
            if isinstance(found, int) and abs(found) > MAX_NUMBER:
                self.refuse("YML007", "this number is far too large.", line, path)
            return found
        except (yaml.YAMLError, ValueError, TypeError, OverflowError):
            self.refuse("YML007", f"the value {str(node.value)[:60]!r} cannot be read.", line, path)

    def mapping(self, node: yaml.MappingNode, path: KeyPath, above: frozenset[int]) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                self.refuse("YML007", "a key must be plain text.", key_node.start_mark.line + 1, path)
            key = str(key_node.value)
            line = key_node.start_mark.line + 1
            if key in result:
                self.refuse("YML008", f"the key '{key}' is given twice.", line, (*path, key))
            self.lines[(*path, key)] = line
            result[key] = self.value(value_node, (*path, key), above)
        return result

    def refuse(self, code: str, message: str, line: int, path: KeyPath) -> Any:
        raise BadInput(Diagnostic(code, message, Where(self.file, line, key_text(path) or None)))


def validated(model: type[Model], document: Document, *, code: str) -> Model:
    """Check a document against a pydantic model; every fault becomes a diagnostic with its line.

    Parameters
    ----------
    code : the three-letter family; unknown keys become ``<code>001``, missing keys ``<code>002``,
        wrong values ``<code>003``.

    Raises
    ------
    BadInput
        With one diagnostic per fault.
    """
    if not isinstance(document.data, dict):
        raise BadInput(
            Diagnostic(f"{code}003", "must be a table of keys and values at its top.", Where(document.file, 1))
        )
    try:
        return model.model_validate(document.data)
    except ValidationError as problem:
        found = [_fault(model, document, dict(error), code) for error in problem.errors()]
    unique = {(d.where.key, d.message): d for d in found}
    raise BadInput(list(unique.values()))


def _fault(model: type[BaseModel], document: Document, error: dict[str, Any], code: str) -> Diagnostic:
    path: KeyPath = tuple(part for part in error["loc"] if _is_key(part, document, error["loc"]))
    where = document.where(*path)
    kind = error["type"]
    if kind == "extra_forbidden":
        name = str(path[-1]) if path else "?"
        return Diagnostic(
            f"{code}001", f"'{name}' is not a known key here.", where, did_you_mean(name, _keys_at(model, path[:-1]))
        )
    if kind == "missing":
        return Diagnostic(f"{code}002", "this key is required and missing.", where)
    message = str(error["msg"]).removeprefix("Value error, ")
    given = error.get("input")
    shown = "" if isinstance(given, (dict, list)) else f" (given: {str(given)[:60]!r})"
    return Diagnostic(f"{code}003", f"{message}{shown}.", where)


def _is_key(part: str | int, document: Document, loc: tuple[str | int, ...]) -> bool:
    """Pydantic puts union member names into locations; keep only parts that are keys of ours."""
    if isinstance(part, int):
        return True
    text = str(part)
    if part == loc[-1]:
        return not (text.startswith("function-") or "[" in text or text in {"str", "int", "float", "bool"})
    return any(part in path for path in document.lines)


def _keys_at(model: type[BaseModel], path: KeyPath) -> list[str]:
    """Field names of the model that stands at ``path`` (all names of the schema when that is unclear)."""
    schema = model.model_json_schema()
    names: set[str] = set(schema.get("properties", {}))
    if path:
        names = set()
        for part in schema.get("$defs", {}).values():
            names |= set(part.get("properties", {}))
    return sorted(names)


def write_text(path: Path, text: str) -> None:
    """Write a text file whole or not at all: a temporary neighbour first, then a rename.

    Raises
    ------
    BadInput
        ``OUT001`` if the place cannot be written.
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, content: bytes) -> None:
    """Like :func:`write_text` for bytes."""
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as problem:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
        reason = problem.strerror or str(problem)
        raise BadInput(Diagnostic("OUT001", f"cannot be written: {reason}.", Where(str(path)))) from None


def digest_of(data: Any) -> str:
    """Sixteen hex digits that are the same for the same plain data."""
    return hashlib.sha256(json_text(data).encode()).hexdigest()[:16]


def json_text(data: Any) -> str:
    """Stable JSON: sorted keys, two spaces, ends with a newline."""
    return json.dumps(data, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
