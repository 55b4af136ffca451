"""Words behind Plan: every code and measurement has them, and a range says its unit once."""

import pytest

from engine.demand.usual_bands import USUAL_BANDS, band_of
from engine.diagnosis.codes import Measure
from engine.vocabulary import PARAMETERS
from mobile.state.forms import FORMS
from mobile.state.plan_drift import _WAYS
from mobile.state.sentences import clock, run_time, told
from mobile.texts.history_plot import TEXTS as PLOT
from mobile.texts.plan_ahead import TEXTS as AHEAD
from tests.support.keeper_log import dkh, kettle

MOST_WORDS = 18


def test_every_measurement_has_words_and_a_form_but_the_one_that_is_only_a_look():
    assert set(Measure) - set(_WAYS) == {Measure.LOOK}
    for words, form in _WAYS.values():
        assert words in AHEAD
        assert form in FORMS


@pytest.mark.parametrize("texts", [AHEAD, PLOT])
def test_sentences_are_short(texts):
    for text in texts.values():
        for sentence in text.replace(": ", ". ").split(". "):
            assert len(sentence.split()) <= MOST_WORDS, sentence


def test_a_range_says_its_unit_once():
    texts = {"x": "{low_L_per_day} to {high_L_per_day}, {a_low_days} to {a_high_days}."}
    numbers = {
        "low_L_per_day": 5.6,
        "high_L_per_day": 6.18,
        "a_low_days": 65.0,
        "a_high_days": 66.0,
    }
    assert told(texts, "x", numbers) == "5.6 to 6.1 L a day, 65 to 66 days."
    assert told(texts, "x", {**numbers, "a_low_days": 0.5}).endswith("12 h to 66 days.")


def test_a_rise_to_a_level_is_no_range():
    texts = {"x": "It rose by {rise_meq_per_L} to {last_meq_per_L}."}
    numbers = {"rise_meq_per_L": dkh(0.9), "last_meq_per_L": dkh(9.1)}
    assert told(texts, "x", numbers) == "It rose by 0.9 dKH to 9.1 dKH."


def test_run_time_and_clock_are_as_set_on_a_timer():
    assert run_time(316.9) == "316 s (5 min 16 s)"
    assert run_time(42.0) == "42 s"
    assert clock(21.5) == "21:30"
    assert clock(24.0) == "24:00", "a lamp may burn until the end of the day"
    assert clock(24.5) == "0:30"


def test_alkalinity_has_the_keepers_own_band_and_others_the_usual_one():
    setup = kettle().decide().setup
    assert setup is not None
    assert band_of("total_alkalinity", setup) == (dkh(7.5), dkh(9.0))
    assert band_of("calcium", setup) == USUAL_BANDS["calcium"]
    assert band_of("room_co2", setup) is None
    for code, (low, high) in USUAL_BANDS.items():
        least, most = PARAMETERS[code].plausible
        assert least <= low < high <= most
