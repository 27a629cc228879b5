"""Every error that one meets in the first ten minutes: what its message says to do was done, and then it is read.

The tables stand in ``tests/docs/remedies``. Which errors there are is asked of the source, so that a new one has its
remedy tried too, or says here why it cannot be.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.docs.remedies.blends import MIXES
from tests.docs.remedies.cooks import COOKS
from tests.docs.remedies.courses import COURSES
from tests.docs.remedies.days import DAYS
from tests.docs.remedies.lines import LINES
from tests.docs.remedies.logs import LOGS
from tests.docs.remedies.replies import REPLIES
from tests.docs.remedies.reports import REPORTS
from tests.docs.remedies.tried import SRC, Site, Tried, reached, recorded, sites

from pitreckon.errors import InputError, StoreError

ALL = [*COOKS, *COURSES, *DAYS, *LOGS, *MIXES, *REPLIES, *REPORTS, *LINES]
ROOMS = ("cook", "forms", "units", "plan", "ledger/log", "text", "cli", "cli/commands")
ELSEWHERE = (
    *("flavour/read.py", "flavour/mix.py", "flavour/amounts.py", "lessons/diagnosis/report.py"),
    *("photo/places.py", "sheets/writers/write.py", "ledger/store/place.py"),
)
FILES = [*(p.relative_to(SRC).as_posix() for room in ROOMS for p in sorted((SRC / room).glob("*.py"))), *ELSEWHERE]
EXCEPTED = {
    "cli/commands/alerts.py alerts: InputError('not every message": "an address outside has to refuse it",
    "cli/firstcook.py is_writable: InputError(f'nothing may be": "whoever runs the tests as root may write anywhere",
    "units/clock.py next_clock: InputError(": "no clock of any zone skips the same time on four days running",
}
"""What cannot be tried in a test without a network or another world, and why."""


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("PITRECKON_UNITS", "PITRECKON_LEDGER", "PITRECKON_PEOPLE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def _error_of(tried: Tried) -> InputError | StoreError:
    with pytest.raises((InputError, StoreError)) as raised:
        tried.read(tried.wrong)
    return raised.value


def test_what_each_remedy_says_is_read() -> None:
    faults = []
    for tried in ALL:
        error = _error_of(tried)
        if (error.trouble, error.remedy) != (tried.trouble, tried.remedy):
            faults.append(f"{tried.trouble!r} is now {error.trouble!r}, {error.remedy!r}")
        for right in tried.rights:
            try:
                tried.read(right)
            except (InputError, StoreError) as still:
                faults.append(f"{tried.trouble!r}: {right!r} is what the remedy says, and it meets: {still}")
    assert faults == []


def test_no_error_of_the_first_ten_minutes_is_left_untried(monkeypatch: pytest.MonkeyPatch) -> None:
    there = sites(FILES)
    found = set[Site]()
    for tried in ALL:
        with recorded(monkeypatch) as made:
            error = _error_of(tried)
        found |= reached(there, made, error)
    excepted = {site for site in there if any(site.key.startswith(each) for each in EXCEPTED)}
    untried = [site.key for site in there if site not in found | excepted]
    assert untried == [], "try its remedy in tests/docs/remedies, or say in EXCEPTED why it cannot be"
    assert [site.key for site in excepted & found] == [], "it is tried: leave it out of EXCEPTED"
    assert [each for each in EXCEPTED if not any(site.key.startswith(each) for site in there)] == [], "it is gone"
    assert len(there) > 280
    assert len(excepted) <= 5
