"""scipy's sparse matrices, loaded without the parts of numpy that nothing here uses.

scipy copies every name of numpy while it loads. Some of them numpy itself loads only when they are asked for, its tools
for Fortran and for testing among them: a tenth of a second in every search. While scipy loads, numpy therefore names
what is loaded already and no more; afterwards it is as before. ``tests/solve/test_sparse.py`` looks at both.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType
from typing import Any

import numpy

__all__ = ["coo_matrix", "csr_matrix", "hstack", "vstack"]


@contextmanager
def naming_what_is_loaded(module: ModuleType) -> Iterator[None]:
    """Within, ``dir`` and ``import *`` find no names that the module would load first; a module without such names is
    left alone.
    """
    names = vars(module)
    own: dict[str, Any] = {name: names[name] for name in ("__all__", "__dir__", "__getattr__") if name in names}
    if len(own) == 3:
        loaded = [name for name in own["__dir__"]() if name in names]
        names.update(__all__=[name for name in own["__all__"] if name in names], __dir__=lambda: loaded)
    try:
        yield
    finally:
        names.update(own)


with naming_what_is_loaded(numpy):
    from scipy.sparse import coo_matrix, csr_matrix, hstack, vstack
