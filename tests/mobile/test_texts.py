"""Every code that the storage can report has a sentence."""

import re
from pathlib import Path

from mobile.storage import errors
from mobile.storage.errors import AppError
from mobile.storage.problems import Problem
from mobile.texts.app import TEXTS as APP
from mobile.texts.storage import OTHER, TEXTS, problem_sentence

STORAGE = Path(errors.__file__).parent
ERRORS = [cls for cls in vars(errors).values() if isinstance(cls, type)]
RAISED = {cls.code for cls in ERRORS if issubclass(cls, AppError)}


def test_every_storage_error_has_a_sentence() -> None:
    assert {code for code in RAISED if code not in APP} == set()


def test_every_problem_code_in_the_source_has_a_sentence() -> None:
    source = "\n".join(path.read_text(encoding="utf-8") for path in STORAGE.glob("*.py"))
    named = set(re.findall(r'"((?:record|import|journal|line|backend|check)_[a-z_]+)"', source))
    assert len(named) > 20
    assert {code for code in named - RAISED if code not in TEXTS} == set()


def test_an_unknown_problem_still_says_what_was_kept() -> None:
    assert problem_sentence(Problem(code="new_code")) == OTHER.format(code="new_code", detail="")
