"""Every hazard code, kind and band has a sentence, and every sentence finds its numbers."""

import string

import pytest

from engine.demand.facts import gather
from engine.hazards.bands import Band, Precipitation
from engine.hazards.codes import HazardCode, Kind
from engine.hazards.equipment import Guards
from engine.hazards.hazard import WARNED_KINDS, assess
from engine.hazards.rescue import rescue
from engine.hazards.rescue_water import new_water, state_from_reading
from engine.hazards.safe_setup import verdict
from engine.records import Container, Delivery
from mobile.state.sentences import sentence
from mobile.texts.hazard import BANDS, KINDS, PRECIPITATION, TEXTS
from mobile.texts.hazard_page import IF_KINDS
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh, kettle

LONGEST_WORDS = 18


def hazards(log, **options):
    return assess(gather(log.records, system=SYSTEM, now=NOW), **options)


def _logs():
    """Yield systems that between them give every code."""
    yield KeeperLog().test(1.0, 8.0)
    yield KeeperLog().setup()
    yield KeeperLog().setup().test(30.0, 8.0)
    yield kettle().read(0.2, salinity=20.0)
    yield kettle().read(0.2, pH_nbs=7.8)
    yield kettle(sump_room_L=10.0)
    yield kettle(vessel_L=None, pump_L_per_h=None, fresh_water_container_L=None)
    for volume in (40.0, 450.0, 2500.0, 60_000.0):
        house = kettle(net_volume_L=volume, fresh_water_container_L=100.0, pump_L_per_h=20.0)
        yield house.read(0.3, pH_nbs=8.3).recharge(9.0, 60.0)
        yield kettle(net_volume_L=volume).read(0.3, pH_nbs=8.5)
        yield kettle(net_volume_L=volume, doses_per_day=1).read(0.3, pH_nbs=8.3)
        yield kettle(net_volume_L=volume, fresh_water_container_L=0.5).read(0.3, pH_nbs=8.2)
    yield kettle().recharge(30.0, 900.0).recharge(1.0, 60.0)
    fields = {"delivery": Delivery.TOP_OFF_CONTAINER, "lime_container_L": 20.0}
    for drain_back in (None, 8.0):
        log = KeeperLog().setup(**fields, drain_back_L=drain_back).test(0.5, 8.0)
        yield log.recharge(2.0, 60.0, Container.LIME)
    drip = {"delivery": Delivery.DRIP, "lime_container_L": 2.0}
    yield KeeperLog().setup(**drip).test(0.5, 8.0).pump(9.0, 1.5)


def _reasons():
    for log in _logs():
        for guards in (Guards(), Guards(cut_off_h=0.2, siphon_break=True)):
            found = hazards(log, guards=guards)
            yield from found.reasons
            for case in (*found.cases, *found.unknown):
                yield from case.reasons
            for band in (Band.STOP_LIME, Band.ACT_NOW):
                safe = verdict(found, band=band)
                yield from (*safe.verdict, *safe.reasons)
                yield from (entry.reason for entry in safe.alternatives)
    yield from _rescues()


def _rescues():
    calm = state_from_reading(
        pH_nbs=8.9, total_alkalinity_meq_per_L=4.0, salinity=35.0, temperature_degC=25.0
    )
    for ready in (0.0, 20.0, 200.0):
        log = kettle(salt_water_ready_L=ready)
        if ready:
            log.water_change(3.0, 40.0, dkh(8.0))
        facts = gather(log.records, system=SYSTEM, now=NOW)
        for state in (calm, None):
            yield from rescue(
                state,
                net_volume_L=450.0,
                net_volume_error_share=0.1,
                water=new_water(facts, facts.setup),
            ).reasons


REASONS = list(_reasons())


def test_each_code_has_one_sentence_and_no_sentence_is_left_over():
    assert set(TEXTS) == {code.value for code in HazardCode}
    assert set(KINDS) == {kind.value for kind in Kind}
    assert set(BANDS) == {band.value for band in Band}
    assert set(PRECIPITATION) == {each.value for each in Precipitation}


def test_each_accident_that_a_verdict_may_speak_of_has_its_words():
    assert set(IF_KINDS) == {kind.value for kind in WARNED_KINDS}


def test_every_code_is_given_by_some_system():
    assert {code.value for code in HazardCode} - {str(r.code) for r in REASONS} == set()


def test_every_sentence_finds_the_numbers_that_its_code_brings():
    for reason in REASONS:
        said = sentence(TEXTS, reason.code, reason.numbers)
        assert "{" not in said
        assert "nan" not in said


@pytest.mark.parametrize("code", sorted(TEXTS))
def test_sentences_are_short_and_name_no_unit(code):
    fields = [name for _, name, _, _ in string.Formatter().parse(TEXTS[code]) if name]
    assert all("_" in name for name in fields)
    for part in TEXTS[code].replace(": ", ". ").split(". "):
        assert len(part.split()) <= LONGEST_WORDS, part


def test_a_refusal_of_all_figures_says_hold():
    for code in ("setup_missing", "alkalinity_missing", "outside_model"):
        assert "Hold" in TEXTS[f"hazard_{code}"]
    assert "Hold" in TEXTS["safe_verdict_unknown"]
