"""How much abuse a run hands out, and files spoiled at random in ways that files are spoiled in."""

import os
import random
import zipfile
from io import BytesIO

# 1 in the ordinary run. The long run: ABUSE=100 pytest tests/test_abuse_files.py tests/test_functions.py
STRENGTH = int(os.environ.get("ABUSE", "1"))


def flipped(content: bytes, chance: random.Random) -> bytes:
    """Return a content with one to eight of its bits the other way round."""
    made = bytearray(content)
    for _ in range(chance.randint(1, 8)):
        at = chance.randrange(len(made))
        made[at] ^= 1 << chance.randrange(8)
    return bytes(made)


def cut(content: bytes, chance: random.Random) -> bytes:
    """Return a content that ends too early, or lacks a piece in the middle."""
    start, end = sorted(chance.randrange(len(content)) for _ in range(2))
    return content[:start] if chance.random() < 0.5 else content[:start] + content[end:]


def repacked(content: bytes, chance: random.Random) -> bytes:
    """Return a workbook that unpacks without complaint, one of whose parts is spoiled."""
    with zipfile.ZipFile(BytesIO(content)) as old:
        parts = {part: old.read(part) for part in old.namelist()}
    spoiled = chance.choice(sorted(part for part, data in parts.items() if data))
    way = chance.choice((flipped, cut, _shuffled, _dropped))
    parts[spoiled] = way(parts[spoiled], chance)
    return packed(parts)


def _shuffled(part: bytes, chance: random.Random) -> bytes:
    pieces = part.split(b"<")
    chance.shuffle(pieces)
    return b"<".join(pieces)


def _dropped(part: bytes, chance: random.Random) -> bytes:
    pieces = part.split(b"<")
    del pieces[chance.randrange(len(pieces))]
    return b"<".join(pieces)


def packed(parts: dict[str, bytes]) -> bytes:
    """Return a zip file of some parts."""
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in parts.items():
            new.writestr(name, data)
    return out.getvalue()


def with_part(content: bytes, name: str, data: bytes) -> bytes:
    """Return a workbook one of whose parts is another."""
    with zipfile.ZipFile(BytesIO(content)) as old:
        parts = {part: old.read(part) for part in old.namelist()}
    return packed({**parts, name: data})


def part_of(content: bytes, name: str) -> bytes:
    """Return a part of a workbook."""
    with zipfile.ZipFile(BytesIO(content)) as parts:
        return parts.read(name)
