"""The forecast of one brood: from looks in the dark to the night to catch.

`forecast(evidence, profile)` is a pure function. On its way: `evidence` is checked; `prior` and `steps` turn fixed
`points` into possible broods; `sight` and `loss` weigh them by the looks in a `sample`, which `refining` draws anew
where it is poor; `belief` is what comes of it; `answers`, `nights`, `contradiction`, `influence`, `looking`, `glass`
and `plans` say what follows, with the `outcomes` of looks summed for three of them. `told` is all of it in one value,
`json_form` and `words` write it down, and `assumptions` doubts it when asked.
"""

from holdwatch.domain.forecast.belief import Belief, believe
from holdwatch.domain.forecast.evidence import BadEvidence, Catch, Ending, Evidence, Reading, Spawn, Tank
from holdwatch.domain.forecast.json_form import to_json
from holdwatch.domain.forecast.told import Forecast, forecast

__all__ = [
    "BadEvidence",
    "Belief",
    "Catch",
    "Ending",
    "Evidence",
    "Forecast",
    "Reading",
    "Spawn",
    "Tank",
    "believe",
    "forecast",
    "to_json",
]
