"""Opens a score file safely: size, kind, archives, entities and depth are checked before any parser of music sees it.

Codes: TML001 unreadable or too large, TML002 not text, TML003 unknown kind, TML020 broken XML, TML021 refused XML
(entities, depth, size), TML022 broken or refused archive, TML023 the tune of an ABC collection.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal
from xml.parsers import expat

from composer.errors import BadInput, Diagnostic, Where
from composer.textfiles import read_bytes

Kind = Literal["musicxml", "abc", "midi"]
MAX_SCORE_BYTES: Final = 10_000_000
MAX_ABC_TUNE: Final = 200_000
MAX_XML_DEPTH: Final = 60
MAX_XML_ELEMENTS: Final = 1_000_000
MAX_REPEAT_TIMES: Final = 16
SUFFIXES: Final[dict[str, Kind]] = {
    ".xml": "musicxml", ".musicxml": "musicxml", ".mxl": "musicxml", ".abc": "abc", ".mid": "midi", ".midi": "midi",
}  # fmt: skip
_TUNE: Final = re.compile(r"^X:\s*(\d+)", re.MULTILINE)


@dataclass(frozen=True)
class ScoreSource:
    """A score that passed the checks: its text (or bytes for MIDI) and where it came from."""

    kind: Kind
    file: str
    text: str = ""
    raw: bytes = b""
    first_line: int = 1


def open_score(path: Path, tune: int | None = None) -> ScoreSource:
    """Read and check a score file.

    Parameters
    ----------
    tune : number (``X:``) of the tune wanted from an ABC collection.

    Raises
    ------
    BadInput
        With one diagnostic; see the module header for the codes.
    """
    file = str(path)
    kind = SUFFIXES.get(path.suffix.lower())
    if kind is None:
        known = ", ".join(sorted(SUFFIXES))
        raise BadInput(
            Diagnostic("TML003", f"'{path.suffix or path.name}' is not a kind of score known here.", Where(file),
                       f"Use one of {known}; an audio file goes under 'track'.")
        )  # fmt: skip
    raw = read_bytes(path, code="TML001", limit=MAX_SCORE_BYTES)
    if not raw.strip():
        raise BadInput(Diagnostic("TML001", "is empty.", Where(file)))
    if kind == "midi":
        return ScoreSource(kind, file, raw=raw)
    if path.suffix.lower() == ".mxl":
        raw = _unpacked(raw, file)
    text = _text(raw, file, kind)
    if kind == "abc":
        return _abc_tune(text, file, tune)
    check_xml(text, file)
    return ScoreSource(kind, file, text)


def _text(raw: bytes, file: str, kind: Kind) -> str:
    encodings = ["utf-16"] if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else ["utf-8-sig"]
    if kind == "abc" and b"\x00" not in raw:
        encodings.append("latin-1")  # older tune collections
    for encoding in encodings:
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise BadInput(Diagnostic("TML002", "is not a text file (UTF-8 is needed).", Where(file)))


def _unpacked(raw: bytes, file: str) -> bytes:
    """The score inside a compressed MusicXML file, never more than the limit."""

    def refuse(reason: str) -> BadInput:
        return BadInput(Diagnostic("TML022", f"is no usable compressed MusicXML file: {reason}.", Where(file)))

    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            names = archive.namelist()
            if len(names) > 1000:
                raise refuse(f"it holds {len(names)} files")
            name = _root_name(archive, names) or next(
                (n for n in names if n.lower().endswith((".xml", ".musicxml")) and not n.startswith("META-INF")), None
            )
            if name is None:
                raise refuse("there is no score in it")
            with archive.open(name) as member:
                content = member.read(MAX_SCORE_BYTES + 1)
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError, RuntimeError, OSError) as problem:
        raise refuse(str(problem).strip("'\".") or "it is damaged") from None
    if len(content) > MAX_SCORE_BYTES:
        raise refuse(f"the score inside has more than {MAX_SCORE_BYTES} bytes")
    return content


def _root_name(archive: zipfile.ZipFile, names: list[str]) -> str | None:
    """The score that the archive's table of contents names."""
    if "META-INF/container.xml" not in names:
        return None
    with archive.open("META-INF/container.xml") as member:
        table = member.read(100_000).decode("utf-8", "replace")
    match = re.search(r"full-path\s*=\s*[\"']([^\"']+)[\"']", table)
    return match.group(1) if match and match.group(1) in names else None


def check_xml(text: str, file: str) -> None:
    """Refuse XML that is broken, defines entities, nests too deep, is too large or is no partwise score."""
    depth = elements = 0
    root = ""

    def refuse(reason: str) -> None:
        raise BadInput(Diagnostic("TML021", f"is refused: {reason}.", Where(file, parser.CurrentLineNumber)))

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth, elements, root
        depth += 1
        elements += 1
        root = root or name
        if depth > MAX_XML_DEPTH:
            refuse("its elements are nested too deeply")
        if elements > MAX_XML_ELEMENTS:
            refuse(f"it has more than {MAX_XML_ELEMENTS} elements")
        if name == "repeat" and attributes.get("times", "2").strip().isdigit():
            times = int(attributes.get("times", "2"))
            if times > MAX_REPEAT_TIMES:
                refuse(f"a repeat is played {times} times; at most {MAX_REPEAT_TIMES} are followed")

    def end(_name: str) -> None:
        nonlocal depth
        depth -= 1

    def entity(*_parts: object) -> None:
        refuse("it defines entities, which no score needs")

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler, parser.EntityDeclHandler = start, end, entity
    try:
        parser.Parse(re.sub(r"^\s*<\?xml[^>]*\?>", "", text, count=1), True)
    except expat.ExpatError as problem:
        reason = expat.errors.messages.get(problem.code, "damaged")
        raise BadInput(
            Diagnostic("TML020", f"is not well-formed XML: {reason}.", Where(file, problem.lineno),
                       "Is the file complete?")
        ) from None  # fmt: skip
    if root != "score-partwise":
        raise BadInput(
            Diagnostic("TML021", f"holds <{root[:40]}>, not a MusicXML score.", Where(file),
                       "Save it as MusicXML (partwise)." if root == "score-timewise" else None)
        )  # fmt: skip


def _abc_tune(text: str, file: str, tune: int | None) -> ScoreSource:
    """One tune of an ABC text, with the lines before the first tune as its common header."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    heads = list(_TUNE.finditer(text))
    numbers = [int(head.group(1)) for head in heads]
    if not re.search(r"^K:", text, re.MULTILINE):
        raise BadInput(Diagnostic("TML023", "is no ABC tune: there is no key line (K:).", Where(file)))
    if not heads:
        return ScoreSource("abc", file, _short_enough("X:1\n" + text, file))
    if tune is None and len(heads) > 1:
        shown = ", ".join(map(str, numbers[:12])) + (" ..." if len(numbers) > 12 else "")
        raise BadInput(
            Diagnostic("TML023", f"holds {len(heads)} tunes ({shown}).", Where(file), "Say which with 'tune: NUMBER'.")
        )
    wanted = numbers[0] if tune is None else tune
    if numbers.count(wanted) != 1:
        shown = ", ".join(map(str, numbers[:12])) + (" ..." if len(numbers) > 12 else "")
        what = f"has no tune {wanted}" if wanted not in numbers else f"has several tunes with the number {wanted}"
        raise BadInput(Diagnostic("TML023", f"{what}; it holds {shown}.", Where(file)))
    index = numbers.index(wanted)
    begin = heads[index].start()
    end = heads[index + 1].start() if index + 1 < len(heads) else len(text)
    body = _short_enough(text[begin:end], file)
    return ScoreSource("abc", file, body, first_line=text.count("\n", 0, begin) + 1)


def _short_enough(text: str, file: str) -> str:
    if len(text) > MAX_ABC_TUNE:
        raise BadInput(Diagnostic("TML001", f"a tune of {len(text)} characters is not read here.", Where(file)))
    return text
