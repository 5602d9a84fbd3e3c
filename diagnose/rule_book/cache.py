"""What is worked out from a rule book, kept so that a start need not parse YAML or index phrases again.

The key is the content: names and bytes of all rule files and of this package's code. A cache that is stale, torn or
foreign is rebuilt silently; one that cannot be written is done without.
"""

from __future__ import annotations

import gc
import hashlib
import os
import re
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Generic, NamedTuple, TypeVar

import msgspec

from diagnose import __version__
from diagnose.bounded import CACHED, RULE_FILE, TooLong, bytes_of, paths_below
from diagnose.errors import BadInput
from diagnose.rule_book.book import RuleBook
from diagnose.shipped import shipped_folder
from diagnose.unit_spellings import use
from diagnose.whole_files import write_whole

T = TypeVar("T")

_HEAD = b"rule book 2\n"
_OWN_NAME = re.compile("[0-9a-f]{32}")
_DIGEST = 16
"""Bytes of a hash."""


def cache_folder() -> Path:
    """Return where compiled rule books are kept; the environment may say otherwise."""
    chosen = os.environ.get("DIAGNOSE_CACHE")
    if chosen:
        return Path(chosen)
    from platformdirs import user_cache_path

    return user_cache_path("diagnose", appauthor=False)


class Kept(NamedTuple, Generic[T]):
    """What was worked out, and the hash of it, by which it is told from others of its kind."""

    built: T
    digest: str


def fingerprint(folder: Path) -> str:
    """Return the hash of every file of the rule book, and of the code and the shipped vocabulary that it is read by."""
    digest = _hash(__version__.encode())
    package = Path(__file__).parent
    below = len(str(folder)) + 1
    for path in paths_below(folder, "*.y*ml"):
        if os.path.isfile(path):  # a pipe or a device is no rule file, and is told when the rules are read
            _add(digest, path[below:], path)
    for own in (*sorted(package.glob("*.py")), *sorted(package.parent.glob("calculations/*.py")), *_leaves(package)):
        _add(digest, own.name, str(own))
    for part in ("quantities", "units"):  # what terms of calculations mean, and how units are spelt
        for path in paths_below(shipped_folder("rules") / part, "*.yaml"):
            _add(digest, Path(path).name, path)
    return digest.hexdigest()


def _leaves(package: Path) -> list[Path]:
    return sorted(package.parent.glob("*.py"))


def with_code(known: str, code: Iterable[Path]) -> str:
    """Return the hash of what a hash stands for and of further code."""
    digest = _hash(known.encode())
    for path in code:
        _add(digest, path.name, str(path))
    return digest.hexdigest()


def digest_of(built: object) -> str:
    """Return the hash of something by its content, as the cache would keep it."""
    return _hash(msgspec.msgpack.encode(built)).hexdigest()


def _hash(data: bytes) -> hashlib.blake2b:
    return hashlib.blake2b(data, digest_size=_DIGEST)


def _add(digest: hashlib.blake2b, name: str, path: str) -> None:
    digest.update(name.encode() + b"\0")
    digest.update(bytes_of(path, RULE_FILE) + b"\0")


def key_of(folder: Path) -> str:
    """Return the hash by which what is worked out from a rule book is kept; "" for one that cannot be read."""
    try:
        return fingerprint(folder)
    except (OSError, BadInput):
        return ""


def kept(key: str, kind: str, wanted: type[T], build: Callable[[], T]) -> Kept[T]:
    """Return what was worked out before under a key, else what ``build`` returns, and keep that; with "" nothing is.

    ``kind`` is the ending of its file in the cache. A file that is stale, torn or foreign is replaced silently; where
    none can be written it is done without.
    """
    path = _cached(key, kind)
    found = _read(path, wanted) if path else None
    if found is not None:
        return found
    built = build()
    body = msgspec.msgpack.encode(built)
    if path:
        _write(path, body)
    return Kept(built, _hash(body).hexdigest())


def _cached(key: str, kind: str) -> Path | None:
    try:
        return cache_folder() / f"{key}.{kind}" if key else None
    except OSError:  # nobody's home
        return None


def kept_before(name: str, wanted: type[T]) -> T | None:
    """Return what was kept in the cache under a name of its own, whatever rule book it was for; None if nothing was."""
    found = _read(cache_folder() / name, wanted)
    return found.built if found else None


def keep(name: str, built: object) -> None:
    """Keep something in the cache under a name of its own; where nothing can be written, it is done without."""
    _write(cache_folder() / name, msgspec.msgpack.encode(built))


def load_rule_book(folder: Path) -> RuleBook:
    """Return the rule book in ``folder``, compiled before when its content is the same.

    Raises ProblemsFound with all problems when the rule book has any, BadInput when there is no such folder.
    """
    return kept_rule_book(folder, key_of(folder)).built


def kept_rule_book(folder: Path, key: str, tell: Callable[[str], None] = lambda _: None) -> Kept[RuleBook]:
    """Return the same with its hash, by the key of the folder; ``tell`` hears if it is read anew."""

    def read() -> RuleBook:
        tell(READ_ANEW)
        return _load(folder)

    found = kept(key, "rules", RuleBook, read)
    use(found.built.units)
    return found


READ_ANEW = "Reading the rule book, which has changed or is new here; this takes a little while."


def _load(folder: Path) -> RuleBook:
    from diagnose.rule_book.load import load_folder  # loads YAML and units, which a cached start does without

    return load_folder(folder)


def _read(path: Path, wanted: type[T]) -> Kept[T] | None:
    try:
        if not _is_ours(path):
            return None
        data = bytes_of(path, CACHED)
    except (OSError, TooLong):
        return None
    head, check, body = data[: len(_HEAD)], data[len(_HEAD) :][:_DIGEST], data[len(_HEAD) + _DIGEST :]
    digest = _hash(body)
    if head != _HEAD or _sealed(path, digest.digest()) != check:
        return None
    try:
        with _nothing_collected():
            return Kept(msgspec.msgpack.decode(body, type=wanted), digest.hexdigest())
    except (msgspec.DecodeError, RecursionError):
        return None


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """Let nobody look for garbage: of the many objects read there is none, and looking takes longer than reading."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _sealed(path: Path, digest: bytes) -> bytes:
    """Return what a file of the cache is known by: its name as well, so that none stands in for another."""
    return _hash(path.name.encode() + b"\0" + digest).digest()


def _is_ours(path: Path) -> bool:
    """Tell whether a plain file belongs to this user (or to the system): what others have put there is not read."""
    known = path.lstat()
    return stat.S_ISREG(known.st_mode) and (not hasattr(os, "getuid") or known.st_uid in (os.getuid(), 0))


def _write(path: Path, body: bytes) -> None:
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, (_HEAD, _sealed(path, _hash(body).digest()), body), mode=0o600)
        _drop_others(path)


def _drop_others(path: Path, keep: int = 8) -> None:
    """Keep the newest few of a kind; older ones are of no use to anybody."""
    own = [each for each in path.parent.glob(f"*{path.suffix}") if _OWN_NAME.fullmatch(each.stem)]
    for old in sorted(own, key=lambda each: each.lstat().st_mtime, reverse=True)[keep:]:
        with suppress(OSError):
            old.unlink()
