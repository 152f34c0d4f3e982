"""The examples in the docstrings are true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import netdiff

MODULES = [name for _, name, _ in pkgutil.walk_packages(netdiff.__path__, "netdiff.") if not name.endswith("__main__")]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
