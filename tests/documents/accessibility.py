"""``python -m tests.documents.accessibility PAGE …``: pages of HTML looked at by axe-core in headless Chromium."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
import sys
import tempfile
from importlib.resources import files
from pathlib import Path

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), "")

_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy"[^>]*>')
"""The page lets no script run, so the checker is let in by taking that line out of a copy."""

_RUN = """axe.run(document).then(found => {
  const told = document.createElement("pre");
  told.id = "found-by-axe";
  told.textContent = JSON.stringify(found.violations.map(
    each => `${each.id} (${each.impact}): ${each.help}: ${each.nodes.map(node => node.html).join(" ").slice(0, 300)}`));
  document.body.appendChild(told);
})"""


def violations(page: str) -> list[str]:
    """Return what breaks a rule of accessibility on a page, in words."""
    checker = (files("axe_core_python") / "axe.min.js").read_text(encoding="utf-8")
    scripts = f"<script>{checker}</script><script>{_RUN}</script></body>"
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "page.html"
        copy.write_text(_POLICY.sub("", page).replace("</body>", scripts), encoding="utf-8")
        options = ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder}/profile")
        wait = ("--virtual-time-budget=30000", "--dump-dom", copy.as_uri())
        done = subprocess.run([CHROMIUM, *options, *wait], capture_output=True, text=True, timeout=300, check=True)
    told = re.search(r'<pre id="found-by-axe">(.*?)</pre>', done.stdout, re.DOTALL)
    assert told, "the checker said nothing"
    return json.loads(html.unescape(told[1]))  # type: ignore[no-any-return]


if __name__ == "__main__":
    broken = {path: violations(Path(path).read_text(encoding="utf-8")) for path in sys.argv[1:]}
    for name, told in broken.items():
        print(f"{name}: {len(told)} violations", *told, sep="\n  ")
    sys.exit(any(broken.values()))
