"""Files damaged as files get damaged, and as a stranger might: the same for the same seed."""

import random
import re

NUMBERS = re.compile(r"-?\d+\.?\d*")
WORDS = re.compile(r"[A-Za-z_]{3,}")
ODD_VALUES = (
    *("nan", "inf", "-inf", "1e308", "-1e308", "1e-320", "0", "-0.0", "-1", "9" * 401, "1e9"),
    *('""', '"\\u0000"', "[]", "[[]]", "{}", "true", "1979-05-27", '"x"', "0x7fffffffffffffff"),
)
ODD_BYTES = (b"\0", b"\xff", b"\x1b[2J", b"\r", b"\n", b'"', b"'''", b"[", b"]", b"=", b",", b"#")


def damaged(content: bytes, rng: random.Random) -> bytes:
    """Content with one to three things wrong with it."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        content = rng.choice(DAMAGES)(content, rng)
    return content


def _flipped(content: bytes, rng: random.Random) -> bytes:
    if not content:
        return b"\x80"
    at = rng.randrange(len(content))
    return content[:at] + bytes([content[at] ^ (1 << rng.randrange(8))]) + content[at + 1 :]


def _cut(content: bytes, rng: random.Random) -> bytes:
    start, end = _span(content, rng)
    return content[:start] + content[end:]


def _torn_off(content: bytes, rng: random.Random) -> bytes:
    return content[: rng.randrange(len(content) + 1)]


def _said_twice(content: bytes, rng: random.Random) -> bytes:
    start, end = _span(content, rng)
    return content[:end] + content[start:]


def _put_in(content: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(content) + 1)
    return content[:at] + rng.choice(ODD_BYTES) + content[at:]


def _odd_value(content: bytes, rng: random.Random) -> bytes:
    return _replaced(content, NUMBERS, rng.choice(ODD_VALUES), rng)


def _scaled(content: bytes, rng: random.Random) -> bytes:
    factor = rng.choice((-1.0, 0.01, 0.5, 2.0, 10.0))
    return _replaced(content, NUMBERS, lambda number: f"{float(number[0]) * factor:g}", rng)


def _renamed(content: bytes, rng: random.Random) -> bytes:
    names = WORDS.findall(content.decode("utf-8", "replace")) or ["x"]
    return _replaced(content, WORDS, rng.choice(names), rng)


def _line_lost(content: bytes, rng: random.Random) -> bytes:
    lines = content.splitlines(keepends=True) or [b""]
    del lines[rng.randrange(len(lines))]
    return b"".join(lines)


def _lines_swapped(content: bytes, rng: random.Random) -> bytes:
    lines = content.splitlines(keepends=True) or [b""]
    one, other = (rng.randrange(len(lines)) for _ in range(2))
    lines[one], lines[other] = lines[other], lines[one]
    return b"".join(lines)


DAMAGES = (
    *(_flipped, _cut, _torn_off, _said_twice, _put_in),
    *(_odd_value, _odd_value, _scaled, _renamed, _line_lost, _lines_swapped),
)


def _span(content: bytes, rng: random.Random) -> tuple[int, int]:
    start = rng.randrange(len(content) + 1)
    return start, min(len(content), start + rng.randrange(1, 200))


def _replaced(content: bytes, what: re.Pattern[str], by: object, rng: random.Random) -> bytes:
    """Content with one match of a pattern, outside of comments, replaced."""
    text = content.decode("utf-8", "surrogateescape")
    comments = [(one.start(), one.end()) for one in re.finditer("#.*", text)]
    found = [
        one
        for one in what.finditer(text)
        if not any(start <= one.start() < end for start, end in comments)
    ]
    if not found:
        return content
    one = rng.choice(found)
    new = by(one) if callable(by) else str(by)
    return (text[: one.start()] + new + text[one.end() :]).encode("utf-8", "surrogateescape")
