"""What happens where the compiler is missing."""

from __future__ import annotations

import pytest

from sidelong.errors import Missing
from sidelong.trace import engine


def test_without_llvm_the_message_says_what_still_works_and_how_to_get_it(monkeypatch):
    monkeypatch.setattr(engine, "_loaded", None)
    monkeypatch.setattr(engine, "_candidates", lambda: iter(()))
    with pytest.raises(Missing, match="still work") as caught:
        engine.load(gpu=False)
    assert "karellen-llvm-core" in str(caught.value)
    assert caught.value.exit_code == 1
    assert engine.available() == str(caught.value)


def test_a_library_that_is_no_llvm_is_passed_over(monkeypatch, tmp_path):
    fake = tmp_path / "libLLVM.so.99"
    fake.write_bytes(b"no library")
    monkeypatch.setattr(engine, "_candidates", lambda: iter([(fake, ())]))
    assert engine.find_llvm() is None


def test_the_library_in_use_is_new_enough():
    library = engine.find_llvm()
    assert library is not None
    assert engine.available() == ""
