"""The plot of a running overdose: pH as read against what air and water changes should do."""

from datetime import datetime

from engine.demand.facts import Facts
from engine.hazards.incident import IncidentState, samples_since
from engine.hazards.incident_recovery import Recovery
from mobile.state.plot_view import Curve, PlotView, ticks
from mobile.state.sentences import sentence, trimmed
from mobile.texts.incident import TEXTS


def recovery_plot(facts: Facts, state: IncidentState, expected: Recovery) -> PlotView:
    """Return the plot; x is hours since the incident began."""

    def hours(moment: datetime) -> float:
        return (moment - state.started_at).total_seconds() / 3600.0

    strong = tuple((hours(p.at), p.pH_nbs.low) for p in expected.points)
    poor = tuple((hours(p.at), p.pH_nbs.high) for p in expected.points)
    read = tuple((hours(s.at), s.value) for s in samples_since(facts, state, "pH_nbs"))
    numbers = {"low_pH": strong[-1][1], "high_pH": poor[-1][1], "end_hours": strong[-1][0]}
    return PlotView(
        says=sentence(TEXTS, "plot_says", numbers),
        y_label=TEXTS["plot_pH"],
        x_label=TEXTS["plot_hours"],
        y_ticks=ticks([y for _, y in (*strong, *poor, *read)], lambda value: f"{value:.1f}"),
        x_ticks=ticks([0.0, *(x for x, _ in (*strong, *read))], lambda value: trimmed(value, 2)),
        curves=(
            Curve(name=TEXTS["plot_poor"], points=poor, look="dashed", role="warn"),
            Curve(name=TEXTS["plot_strong"], points=strong, role="good"),
            Curve(name=TEXTS["plot_read"], points=read, look="dots", role="other"),
        ),
    )
