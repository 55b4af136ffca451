"""Reference programs for live comparison: loaded, or their absence said loudly."""

import importlib
import warnings
from types import ModuleType

import pytest


def load(module: str) -> ModuleType:
    """Import a reference program; without it the tests of this file are left out, by name."""
    try:
        with warnings.catch_warnings():
            # EOS-80's reference code says at import that TEOS-10's has succeeded it.
            warnings.filterwarnings("ignore", "The seawater library is deprecated", UserWarning)
            return importlib.import_module(module)
    except ImportError as error:
        reason = f"REFERENCE PROGRAM {module} CANNOT BE IMPORTED, NOT COMPARED WITH: {error}"
        pytest.skip(reason, allow_module_level=True)
