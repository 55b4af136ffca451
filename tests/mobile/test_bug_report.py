"""The report that a keeper hands on: it runs, and nothing that people wrote is in it."""

import dataclasses
import json
import subprocess
import sys
import types
import typing
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from pathlib import Path
from typing import Any

import pytest

from engine import scenario
from engine.decision import decide
from engine.log.record_codec import from_dict, to_dict
from engine.records import KINDS, Amendment, Reading, Record, Setup
from engine.report import report as decision_report
from mobile.bootstrap import ROOT
from mobile.state.boundary import failure_of
from mobile.state.bug_report import MOST_RECORDS, report
from tests.support.app import SCENARIOS, first_records, scenario_records

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)


def full_of_words(cls: type, number: int) -> tuple[Any, list[str]]:
    """Return a record, or a part of one, each text of which is a word of its own."""
    words: list[str] = []
    hints = typing.get_type_hints(cls)
    values: dict[str, Any] = {}
    for field in dataclasses.fields(cls):
        hint = hints[field.name]
        options = [h for h in typing.get_args(hint) if h is not type(None)]
        kind = options[0] if isinstance(hint, types.UnionType) else hint
        if kind is str:
            words.append(f"Zz{cls.__name__}{field.name}{number}"[: field.metadata["longest"]])
            values[field.name] = words[-1]
        elif kind is datetime:
            values[field.name] = NOW - timedelta(days=1, minutes=number)
        elif isinstance(kind, type) and issubclass(kind, StrEnum):
            values[field.name] = next(iter(kind))
        elif kind is Record:
            values[field.name], inner = full_of_words(KINDS["water_test"], number + 500)
            words += inner
        elif typing.get_origin(kind) is tuple and typing.get_args(kind)[0] is Reading:
            part, inner = full_of_words(Reading, number)
            values[field.name] = (part,)
            words += inner
        elif typing.get_origin(kind) is tuple:
            values[field.name] = (1.0,)
        elif kind in (float, int):
            values[field.name] = kind(min(max(field.metadata["low"], 1), field.metadata["high"]))
    return cls(**values), words


def every_kind() -> tuple[list[Record], list[str]]:
    records: list[Record] = []
    words: list[str] = []
    for number, cls in enumerate(KINDS.values(), start=1):
        if cls is Record:
            continue
        record, own = full_of_words(cls, number)
        records.append(record)
        words += own
    return records, words


def test_no_word_of_people_is_in_the_report_whatever_the_kind_and_field():
    records, words = every_kind()
    assert len(records) == len([cls for cls in KINDS.values() if cls is not Record])
    assert len(words) > 5 * len(records)
    assert len(set(words)) > 100
    quoting = failure_of("decision", KeyError(" ".join(words[:40])))
    text = report(records, [quoting], now=NOW, build="b1")
    assert [word for word in words if word in text] == []
    assert "Zz" not in text
    for data in json.loads(text)["records"]:
        from_dict(data)


def test_short_words_are_taken_out_of_a_message_as_words():
    setup = dataclasses.replace(first_records()[0], name="Jo")
    text = report(
        [setup], [failure_of("x", ValueError("no tank of Jo is known: job"))], now=NOW, build="b"
    )
    about = json.loads(text)["about"]
    assert "no tank of … is known: job" in about


def test_a_path_of_a_machine_is_in_no_report():
    try:
        json.loads("{")
    except ValueError as error:
        failure = failure_of("log", error)
    opened = failure_of("log", OSError("cannot open '/home/jo/reef/records.journal' now"))
    about = json.loads(report(first_records(), [failure, opened], now=NOW, build="b"))["about"]
    assert "/home" not in about
    assert str(ROOT) not in about
    assert "json" in about or "decoder.py" in about
    assert "cannot open 'records.journal' now" in about


@pytest.mark.parametrize("name", SCENARIOS)
def test_the_report_decides_as_the_log_does(name: str):
    records = scenario_records(name, NOW)
    system = next(r.system for r in reversed(records) if isinstance(r, Setup))
    own = [r for r in records if r.system == system]
    parsed = scenario.load(report(own, [], now=NOW, build="b"))
    again = decision_report(decide(parsed.records, system=parsed.system, now=parsed.now))
    assert again == decision_report(decide(own, system=system, now=NOW))


def test_amendments_still_find_what_they_amend():
    first = first_records()
    amended = Amendment(
        id="reef:7",
        at=NOW,
        recorded_at=NOW,
        system="reef",
        supersedes=first[1].id,
        replacement=dataclasses.replace(first[1], id="reef:8", limewater_L_per_day=3.0),
    )
    records = [*first, amended]
    found = json.loads(report(records, [], now=NOW, build="b"))["records"]
    assert found[2]["supersedes"] == found[1]["id"]
    assert to_dict(amended)["supersedes"] != found[2]["supersedes"]


def test_a_long_log_is_cut_and_says_so():
    first = first_records(NOW - timedelta(days=400))
    many = [
        dataclasses.replace(first[1], id=f"reef:{n}", at=NOW - timedelta(minutes=n))
        for n in range(10, 10 + MOST_RECORDS + 50)
    ]
    found = json.loads(report([*first, *many], [], now=NOW, build="b"))
    assert len(found["records"]) == MOST_RECORDS + 1
    assert found["records"][0]["kind"] == "setup"
    assert f"{MOST_RECORDS + 1} of {MOST_RECORDS + 52} records" in found["about"]


def test_the_command_line_takes_the_report(tmp_path: Path):
    file = tmp_path / "report.json"
    records = scenario_records("kettle_july", NOW)
    file.write_text(report(records, [], now=NOW, build="b"), encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "engine", str(file)], cwd=ROOT, capture_output=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["change"]["code"] == "lower_pump"
