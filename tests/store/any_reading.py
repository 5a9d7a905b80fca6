"""Any reading that a team may enter, for hypothesis."""

from dataclasses import fields

from hypothesis import strategies as st

from whirlbench.measure.columns import NUMBERS, TEXTS
from whirlbench.measure.readings import Reading

_SORTS = dict.fromkeys(NUMBERS, st.none() | st.floats(allow_nan=False, allow_infinity=False))
_SORTS |= dict.fromkeys(TEXTS, st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30))
_SORTS |= {"pushed": st.booleans(), "row": st.integers(1, 10**6)}

any_readings = st.builds(Reading, **{field.name: _SORTS[field.name] for field in fields(Reading)})
