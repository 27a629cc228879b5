"""The libraries that not everybody needs: what each is for, which extra brings it, and one line where it is missing."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from pitreckon.errors import InputError

LIBRARIES: Final[dict[str, tuple[str, str]]] = {
    "ortools": ("OR-Tools", "plan"),
    "sqlalchemy": ("SQLAlchemy", "ledger"),
    "alembic": ("Alembic", "ledger"),
    "cryptography": ("cryptography", "ledger"),
    "psycopg": ("Psycopg", "postgres"),
    "fastapi": ("FastAPI", "serve"),
    "starlette": ("Starlette", "serve"),
    "uvicorn": ("Uvicorn", "serve"),
    "h11": ("h11", "serve"),
    "itsdangerous": ("itsdangerous", "serve"),
    "argon2": ("argon2-cffi", "serve"),
    "segno": ("Segno", "serve"),
    "jinja2": ("Jinja2", "paper"),
    "markupsafe": ("MarkupSafe", "paper"),
    "icalendar": ("icalendar", "paper"),
    "weasyprint": ("WeasyPrint", "paper"),
    "aiomqtt": ("aiomqtt", "broker"),
    "apprise": ("Apprise", "alerts"),
    "PIL": ("Pillow", "photo"),
    "matplotlib": ("Matplotlib", "pictures"),
    "xarray": ("Xarray", "study"),
    "pandas": ("pandas", "study"),
    "pyarrow": ("PyArrow", "study"),
    "h5netcdf": ("h5netcdf", "study"),
    "h5py": ("h5py", "study"),
    "distributed": ("Dask Distributed", "cluster"),
}
"""The name of each by the module that is imported, and the extra that brings it (``pyproject.toml``)."""


class MissingExtraError(InputError):
    """What was asked for needs a library that is not installed: which, and the line that installs it."""

    def __init__(self, module: str, what: str = "this") -> None:
        """module: a key of ``LIBRARIES``; what: was asked for, as the beginning of a sentence"""
        library, self.extra = LIBRARIES[module]
        super().__init__(
            f"{what} needs {library}, which is not installed", f'Install it: pip install "pitreckon[{self.extra}]"'
        )

    def __reduce__(self) -> tuple[type[InputError], tuple[object, ...]]:  # it comes back from the process that reckons
        return InputError, (self.trouble, self.remedy, self.place, self.kind)


def require(module: str, what: str) -> None:
    """Ask for a library before work is begun that would be lost without it; it is not loaded yet.

    Raises MissingExtraError: it is not installed.
    """
    if importlib.util.find_spec(module) is None:
        raise MissingExtraError(module, what)


@contextmanager
def loading(module: str, what: str) -> Iterator[None]:
    """Around the import of a library: where it is not installed, or lacks what it rests on, one line says so.

    Raises MissingExtraError.
    """
    try:
        yield
    except ImportError as fault:
        raise MissingExtraError(module, what) from fault


def missing_of(fault: ModuleNotFoundError) -> MissingExtraError | None:
    """What a failed import means to whoever reads it; None: it is no library of an extra, but a fault of ours."""
    root = (fault.name or "").partition(".")[0]
    return MissingExtraError(root) if root in LIBRARIES else None
