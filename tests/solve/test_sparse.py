"""Sparse matrices are scipy's, and loading them leaves numpy as it was."""

from __future__ import annotations

import json
import subprocess
import sys
from types import ModuleType

import pytest

from composer.solve.sparse import naming_what_is_loaded

PROBE = """
import json, sys
import numpy
before = (list(numpy.__all__), sorted(dir(numpy)))
import composer.solve.sparse as sparse
import scipy.sparse
same = (list(numpy.__all__), sorted(dir(numpy))) == before
loaded = [name for name in ("f2py", "testing") if f"numpy.{name}" in sys.modules]
print(json.dumps({"same": same, "loaded": loaded, "scipy's": sparse.csr_matrix is scipy.sparse.csr_matrix,
                  "on demand": callable(numpy.testing.assert_equal)}))
"""


def test_numpys_tools_are_not_loaded_and_can_be() -> None:
    told = subprocess.run([sys.executable, "-c", PROBE], capture_output=True, text=True, check=True).stdout
    assert json.loads(told) == {"same": True, "loaded": [], "scipy's": True, "on demand": True}


def _module() -> ModuleType:
    """A module that makes ``late`` when it is asked for."""
    module = ModuleType("m")

    def make(name: str) -> int:
        if name != "late":
            raise AttributeError(name)
        vars(module)["late"] = 2
        return 2

    vars(module).update(early=1, __all__=["early", "late"], __dir__=lambda: ["early", "late"], __getattr__=make)
    return module


def test_names_are_narrowed_within_and_given_back_even_after_a_fault() -> None:
    module = _module()
    seen: list[object] = []

    def at_fault() -> None:
        seen.extend((dir(module), vars(module)["__all__"]))
        raise RuntimeError

    with pytest.raises(RuntimeError), naming_what_is_loaded(module):
        at_fault()
    assert seen == [["early"], ["early"]]
    assert dir(module) == ["early", "late"]
    assert vars(module)["__all__"] == ["early", "late"]
    assert "late" not in vars(module)


def test_a_module_that_loads_nothing_on_demand_is_left_alone() -> None:
    module = ModuleType("m")
    vars(module).update(__all__=["a", "b"])
    with naming_what_is_loaded(module):
        assert vars(module)["__all__"] == ["a", "b"]
    assert "__dir__" not in vars(module)
