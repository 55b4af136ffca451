"""The solver against PyCO2SYS itself, on waters that Hypothesis draws.

Same papers, same conventions: this shows that equations and solver are typed and solved right,
not that nature obeys them.
"""

from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine.carbonate import solve
from tests.published import reference_programs

pyco2 = reference_programs.load("PyCO2SYS")
numpy = reference_programs.load("numpy")

OPTIONS = {
    "opt_k_carbonic": 10,
    "opt_k_bisulfate": 1,
    "opt_total_borate": 2,
    "opt_k_fluoride": 2,
    "opt_gas_constant": 3,
    "opt_pH_scale": 1,
}
# One vectorised call costs as much as one scalar call: many waters at a time.
WATERS = st.lists(
    st.tuples(
        st.floats(20.0, 40.0),  # salinity
        st.floats(15.0, 32.0),  # degC
        st.floats(1500.0, 5000.0),  # total alkalinity
        st.floats(7.0, 9.5),  # pH, total scale
    ),
    min_size=60,
    max_size=60,
)
SETTINGS = settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.large_base_example]
)


def theirs(par1, par2, par2_type, salinity, degC):
    return pyco2.sys(
        par1=numpy.array(par1),
        par2=numpy.array(par2),
        par1_type=1,
        par2_type=par2_type,
        salinity=numpy.array(salinity),
        temperature=numpy.array(degC),
        **OPTIONS,
    )


@SETTINGS
@given(WATERS)
def test_solver_equals_pyco2sys_from_ph_and_back_from_dic_and_pco2(waters):
    salinity, degC, alkalinity, pH = zip(*waters, strict=True)
    reference = theirs(alkalinity, pH, 3, salinity, degC)
    for i, (s, t, ta, ph) in enumerate(waters):
        dic = float(reference["dic"][i])
        if dic <= 1.0:
            continue
        water = {"salinity": s, "temperature_degC": t, "total_alkalinity_umol_per_kg": ta}
        from_pH = solve(pH_total=ph, **water)
        assert from_pH.dic_umol_per_kg == pytest.approx(dic, rel=1e-9)
        assert from_pH.pH_nbs == pytest.approx(float(reference["pH_nbs"][i]), abs=1e-9)
        assert from_pH.pH_free == pytest.approx(float(reference["pH_free"][i]), abs=1e-9)
        assert from_pH.pH_seawater_scale == pytest.approx(float(reference["pH_sws"][i]), abs=1e-9)
        pCO2 = float(reference["pCO2"][i])
        assert from_pH.pCO2_uatm == pytest.approx(pCO2, rel=1e-8)
        assert solve(dic_umol_per_kg=dic, **water).pH_total == pytest.approx(ph, abs=1e-6)
        assert solve(pCO2_uatm=pCO2, **water).pH_total == pytest.approx(ph, abs=1e-6)


@SETTINGS
@given(WATERS)
def test_species_saturation_and_buffer_factor_equal_pyco2sys_from_dic(waters):
    salinity, degC, alkalinity, pH = zip(*waters, strict=True)
    dic = [max(float(d), 200.0) for d in theirs(alkalinity, pH, 3, salinity, degC)["dic"]]
    reference = theirs(alkalinity, dic, 2, salinity, degC)
    for i, (s, t, ta, _) in enumerate(waters):
        state = solve(
            total_alkalinity_umol_per_kg=ta,
            dic_umol_per_kg=dic[i],
            salinity=s,
            temperature_degC=t,
        )
        assert state.pH_total == pytest.approx(float(reference["pH_total"][i]), abs=1e-6)
        for ours, name, tolerance in (
            (state.pCO2_uatm, "pCO2", 1e-6),
            (state.fCO2_uatm, "fCO2", 1e-6),
            (state.hco3_umol_per_kg, "bicarbonate", 1e-6),
            (state.co3_umol_per_kg, "carbonate", 1e-6),
            (state.oh_umol_per_kg, "hydroxide", 1e-6),
            (state.borate_umol_per_kg, "alkalinity_borate", 1e-6),
            (state.omega_aragonite, "saturation_aragonite", 1e-6),
            (state.omega_calcite, "saturation_calcite", 1e-6),
            (state.revelle_factor, "revelle_factor", 1e-6),
        ):
            assert ours == pytest.approx(float(reference[name][i]), rel=tolerance), name


def test_ph_from_dic_falls_as_theirs_does_along_a_line():
    dic = [1500.0, 2000.0, 2200.0, 2400.0, 2600.0]
    reference = theirs([2500.0] * 5, dic, 2, [35.0] * 5, [25.0] * 5)["pH_total"]
    ours = [
        solve(
            total_alkalinity_umol_per_kg=2500.0,
            dic_umol_per_kg=each,
            salinity=35.0,
            temperature_degC=25.0,
        ).pH_total
        for each in dic
    ]
    assert all(a > b for a, b in pairwise(ours))
    assert ours == pytest.approx([float(each) for each in reference], abs=1e-9)
