"""Every YAML file that comes along is read alike by PyYAML's parser in C and by the one in Python."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.shipped import shipped_folder

FOLDERS = [shipped_folder("rules"), shipped_folder("cases")]


def events(path: Path, loader: Any) -> Iterator[tuple[object, ...]]:
    """Yield what a parser makes of a file, without places."""
    for event in yaml.parse(path.read_text(encoding="utf-8"), Loader=loader):
        yield type(event).__name__, getattr(event, "value", None), getattr(event, "tag", None)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_both_parsers_agree(folder: Path) -> None:
    """On a machine without the one in C all works as well."""
    files = sorted(folder.rglob("*.yaml"))
    assert files
    if not hasattr(yaml, "CSafeLoader"):
        pytest.skip("there is no parser in C here, so the other one has read everything already")
    for path in files:
        assert list(events(path, yaml.SafeLoader)) == list(events(path, yaml.CSafeLoader)), path
