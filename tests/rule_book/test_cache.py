"""The compiled rule book spares a start the YAML, and is never believed when it should not be."""

from __future__ import annotations

import hashlib
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from diagnose.errors import ProblemsFound
from diagnose.rule_book import cache, load
from diagnose.rule_book.cache import READ_ANEW, cache_folder, kept_rule_book, key_of, load_rule_book
from diagnose.rule_book.load import load_folder
from diagnose.shipped import shipped_folder
from tests.rule_book.lamps import lamp_book, put


@pytest.fixture
def rules(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a rule book whose cache stands in a folder of its own."""
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "cache"))
    return lamp_book(tmp_path)


@pytest.fixture
def loads(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Return a list to which every load from YAML is added."""
    done: list[Path] = []
    real = load.load_folder

    def counting(folder: Path) -> object:
        done.append(folder)
        return real(folder)

    monkeypatch.setattr(load, "load_folder", counting)
    return done


def only_file() -> Path:
    """Return the one compiled rule book there is."""
    (path,) = cache_folder().glob("*")
    return path


def test_the_second_start_reads_no_yaml(rules: Path, loads: list[Path]) -> None:
    """The first start loads the folder, the second does not, and both have the same rule book."""
    first = load_rule_book(rules)
    second = load_rule_book(rules)
    assert len(loads) == 1
    assert second == first == load_folder(rules)


def test_only_who_waits_is_told(rules: Path) -> None:
    """The first start takes a while and says so; the second has nothing to say."""
    told: list[str] = []
    for _ in range(2):
        kept_rule_book(rules, key_of(rules), told.append)
    assert told == [READ_ANEW]


def test_the_second_start_needs_neither_yaml_nor_units(rules: Path) -> None:
    """In a process that can import neither, the compiled rule book is there all the same."""
    load_rule_book(rules)
    program = (
        "import sys; sys.modules['yaml'] = sys.modules['pint'] = None\n"
        "from pathlib import Path\n"
        "from diagnose.rule_book.cache import load_rule_book\n"
        f"print(len(load_rule_book(Path({str(rules)!r})).causes))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("2\n", "")


def test_the_shipped_rule_book_comes_back_equal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of the rule book that ships is lost or changed on its way through the cache."""
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path))
    fresh = load_rule_book(shipped_folder("rules"))
    assert only_file().stat().st_size > 10_000
    assert load_rule_book(shipped_folder("rules")) == fresh


def test_other_content_is_another_rule_book(rules: Path, loads: list[Path]) -> None:
    """A changed letter is seen even if size and time of the file stay as they were."""
    load_rule_book(rules)
    path = rules / "areas/areas.yaml"
    before = path.stat()
    put(rules, "areas/areas.yaml", path.read_text(encoding="utf-8").replace("title: Lamp", "title: Bulb"))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert load_rule_book(rules).areas["lamp"].title == "Bulb"
    assert len(loads) == 2


def test_a_new_a_renamed_and_a_deleted_file_are_seen(rules: Path) -> None:
    """The names of files belong to the content."""
    area = "id: wire\ntitle: Wire\nsource: estimate\n"
    load_rule_book(rules)
    put(rules, "areas/wire.yaml", area)
    assert "wire" in load_rule_book(rules).areas
    (rules / "areas/wire.yaml").rename(rules / "areas/wire_too.yaml")
    with pytest.raises(ProblemsFound):
        load_rule_book(rules)
    (rules / "areas/wire_too.yaml").unlink()
    assert "wire" not in load_rule_book(rules).areas


def test_same_content_elsewhere_is_the_same_rule_book(rules: Path, loads: list[Path]) -> None:
    """Where the folder stands does not matter."""
    load_rule_book(rules)
    load_rule_book(rules.rename(rules.parent / "moved"))
    assert len(loads) == 1


def test_problems_are_never_kept(rules: Path) -> None:
    """A rule book with problems is refused at every start."""
    put(rules, "areas/wire.yaml", "id: wire\n")
    for _ in range(2):
        with pytest.raises(ProblemsFound):
            load_rule_book(rules)
    assert not cache_folder().exists()


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "emptied": lambda data: b"",
    "torn": lambda data: data[: len(data) // 2],
    "torn in its head": lambda data: data[:5],
    "one bit flipped": lambda data: data[:-10] + bytes([data[-10] ^ 1]) + data[-9:],
    "of another format": lambda data: b"rule book 9\n" + data[12:],
    "somebody else's file": lambda data: b"\x89PNG\r\n\x1a\n" * 100,
}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE)
def test_a_damaged_cache_is_built_anew(rules: Path, loads: list[Path], damage: Callable[[bytes], bytes]) -> None:
    """Whatever stands there that is not the compiled rule book is replaced without a word."""
    fresh = load_rule_book(rules)
    whole = only_file().read_bytes()
    only_file().write_bytes(damage(whole))
    assert load_rule_book(rules) == fresh
    assert len(loads) == 2
    assert only_file().read_bytes() == whole


def test_rightly_sealed_but_another_thing(rules: Path, loads: list[Path]) -> None:
    """A cache that is whole but holds something that is no rule book is built anew as well."""
    fresh = load_rule_book(rules)
    body = b"\x93\x01\x02\x03"
    path = only_file()
    path.write_bytes(cache._HEAD + cache._sealed(path, hashlib.blake2b(body, digest_size=16).digest()) + body)
    assert load_rule_book(rules) == fresh
    assert len(loads) == 2


def test_a_folder_in_place_of_the_cache(rules: Path) -> None:
    """A cache that can neither be read nor written is done without."""
    fresh = load_rule_book(rules)
    path = only_file()
    path.unlink()
    path.mkdir()
    assert load_rule_book(rules) == fresh


def test_a_cache_folder_that_cannot_be_made(rules: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where no cache can be kept the rule book is loaded at every start."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "file" / "below"))
    assert load_rule_book(rules) == load_folder(rules)


def test_a_full_disk_leaves_nothing_half_written(rules: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Or every start would leave one more."""

    def full(_: str, __: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert load_rule_book(rules) == load_folder(rules)
    assert list(cache_folder().iterdir()) == []


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _link_to_a_device(path: Path) -> None:
    path.symlink_to("/dev/zero")


@pytest.mark.parametrize("put_there", [_pipe, _link_to_a_device])
def test_what_is_no_plain_file_is_never_read(rules: Path, put_there: Callable[[Path], None]) -> None:
    """A pipe that nobody writes to, or a link to what never ends, in the place of the cache."""
    fresh = load_rule_book(rules)
    path = only_file()
    path.unlink()
    put_there(path)
    assert load_rule_book(rules) == fresh


def test_one_file_does_not_stand_in_for_another(rules: Path) -> None:
    """A cache that was renamed is of another rule book, however whole it is."""
    load_rule_book(rules)
    of_before = only_file().read_bytes()
    put(rules, "areas/wire.yaml", "id: wire\ntitle: Wire\nsource: estimate\n")
    load_rule_book(rules)
    for path in cache_folder().glob("*.rules"):
        path.write_bytes(of_before)
    assert "wire" in load_rule_book(rules).areas


def test_files_of_somebody_else_stay(rules: Path) -> None:
    """In a folder that holds other files as well only our own grow old."""
    cache_folder().mkdir()
    others = [cache_folder() / f"firewall{number}.rules" for number in range(10)]
    for each in others:
        each.write_text("mine", encoding="utf-8")
    load_rule_book(rules)
    assert all(each.exists() for each in others)


def test_a_pipe_among_the_rules_is_told(rules: Path) -> None:
    """It keeps nobody waiting."""
    os.mkfifo(rules / "areas/pipe.yaml")
    with pytest.raises(ProblemsFound):
        load_rule_book(rules)


def test_old_ones_do_not_pile_up(rules: Path) -> None:
    """Of many versions of a rule book only the newest few are kept."""
    for number in range(12):
        put(rules, "areas/wire.yaml", f"id: wire\ntitle: Wire {number}\nsource: estimate\n")
        load_rule_book(rules)
    assert len(list(cache_folder().glob("*"))) == 8


@pytest.mark.parametrize(("owner", "ours"), [(1000, True), (0, True), (1001, False)])
def test_what_somebody_else_has_put_there_is_not_read(owner: int, ours: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """This user's files and the system's count; a folder that many may write to is no reason to trust them."""
    monkeypatch.setattr(os, "getuid", lambda: 1000)
    monkeypatch.setattr(Path, "lstat", lambda _: SimpleNamespace(st_uid=owner, st_mode=stat.S_IFREG))
    assert cache._is_ours(Path("anything")) == ours


def test_an_area_that_is_a_link_is_read_and_seen_to_change(rules: Path) -> None:
    """What is loaded is what is hashed, wherever it stands."""
    elsewhere = rules.parent / "elsewhere"
    (rules / "areas").rename(elsewhere)
    (rules / "areas").symlink_to(elsewhere, target_is_directory=True)
    assert "wire" not in load_rule_book(rules).areas
    put(elsewhere, "wire.yaml", "id: wire\ntitle: Wire\nsource: estimate\n")
    assert "wire" in load_rule_book(rules).areas
