"""A text that the user named, in each encoding that editors and shells write; the folder for copies."""

from __future__ import annotations

import tempfile
from typing import TYPE_CHECKING

import pytest

from routescreen.errors import InputError
from routescreen.inputs.texts import read_utf8, remove_scratch_folders, scratch_folder

if TYPE_CHECKING:
    from pathlib import Path

TEXT = 'name = "Łódź, 5 m²"\nn = 1\n'
# The marks of the Unicode standard (section 23.8), written out [memory].
ENCODED = {
    "UTF-8": TEXT.encode(),
    "UTF-8 with mark": b"\xef\xbb\xbf" + TEXT.encode(),
    "UTF-16, low byte first": b"\xff\xfe" + TEXT.encode("utf-16-le"),
    "UTF-16, high byte first": b"\xfe\xff" + TEXT.encode("utf-16-be"),
    "line ends of Windows": TEXT.replace("\n", "\r\n").encode(),
    "line ends of Windows in UTF-16": b"\xff\xfe" + TEXT.replace("\n", "\r\n").encode("utf-16-le"),
}


@pytest.mark.parametrize("data", ENCODED.values(), ids=ENCODED.keys())
def test_text_is_the_same_in_every_encoding(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "a.toml").write_bytes(data)
    assert read_utf8(tmp_path / "a.toml") == TEXT


@pytest.mark.parametrize(
    "data",
    [
        pytest.param("n = 'Ö'".encode("latin-1"), id="an old code page"),
        pytest.param(b"\x80\x81", id="no text"),
        pytest.param(b"\xff\xfen\x00=", id="half a character of UTF-16"),
        pytest.param(b"\xff\xfe\x00\xd8", id="half a pair of UTF-16"),
        pytest.param(b"\xef\xbb\xbf\xff", id="a mark and no UTF-8 behind it"),
    ],
)
def test_bad_bytes_are_one_clear_error(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "a.toml").write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_utf8(tmp_path / "a.toml")
    (problem,) = caught.value.problems
    assert (problem.problem, problem.remedy) == ("The file is not UTF-8 text.", "Save it as UTF-8.")
    assert problem.file == str(tmp_path / "a.toml")


def test_scratch_folder_goes_at_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with scratch_folder() as folder:
        (folder / "copy").write_text("x")
        assert folder.parent == tmp_path
    assert list(tmp_path.iterdir()) == []


def test_only_own_scratch_folders_are_removed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    other = tmp_path / "routescreen_0_other"  # no process of a user has the number 0
    other.mkdir()
    with scratch_folder() as folder:
        (folder / "copy").write_text("x")
        remove_scratch_folders()
        assert list(tmp_path.iterdir()) == [other]
