"""What several test files share: the LibreOffice add-in as it is built, and a LibreOffice that has it installed."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from libreoffice import Calc

from basecalc.addin.build import build_addin

# A busy machine is not a fault. Half of the usual examples, drawn anew in every run, are enough.
settings.register_profile("house", deadline=None, max_examples=50)
settings.load_profile("house")

collect_ignore = ["calc_session.py"]  # runs in the system's Python, which has the bridge to LibreOffice


@pytest.fixture(scope="package")
def addin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the add-in's file."""
    return build_addin(tmp_path_factory.mktemp("addin") / "basecalc.oxt")


@pytest.fixture(scope="package")
def calc(addin: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Calc]:
    """Give a running LibreOffice with the add-in in a fresh profile; open a workbook in it."""
    with Calc(tmp_path_factory.mktemp("calc"), addin) as running:
        yield running
