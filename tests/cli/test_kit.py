"""What `labelkit kit` refuses before it prints anything."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from labelkit.cli.kit import kit
from labelkit.errors import UsageError


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LABELKIT_STORE", str(tmp_path / "store.sqlite"))


@pytest.mark.parametrize("address", ["http://[", "http://a b", "http://x:99999", "ftp://x", "http://x/y"])
def test_a_wrong_address_is_told(address: str) -> None:
    """Whatever stands after --address, the answer is a sentence that quotes it."""
    error = CliRunner().invoke(kit, ["planetary-reducer", "--address", address]).exception

    assert isinstance(error, UsageError)
    assert address in str(error)


def test_a_job_of_another_unit_is_refused() -> None:
    """Asking for the marine gear under the reducer's job number would print the wrong unit's labels."""
    assert CliRunner().invoke(kit, ["planetary-reducer", "--only", "cards"]).exit_code == 0
    error = CliRunner().invoke(kit, ["marine-gear", "--job", "1", "--out", "other"]).exception

    assert isinstance(error, UsageError)
    assert "planetary-reducer.yaml" in str(error)
    assert not Path("other").exists()
