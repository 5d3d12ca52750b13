"""What the talk says about the machine itself: year, make, model, stock number, odometer, VIN.

Kept as spoken, never guessed. The VIN's check digit is that of 49 CFR 565; a bad one is flagged and
near ones that would be right are offered (`vin_alternatives`), but it is never repaired.
"""

from collections.abc import Sequence

from pipeline.models import Kind, Vehicle
from pipeline.understand import codes
from pipeline.understand.meter import meters
from pipeline.understand.model_name import year_make_model
from pipeline.understand.tires import dated_spans, tire_dates
from pipeline.understand.vin import is_valid, misheard

_HEADER_WORDS = 400


def read_header(spoken: Sequence[str], kind: Kind) -> Vehicle:
    """The header of a talk, given its tokens in order and in their own spelling."""
    lower = [word.lower() for word in spoken]
    dated = {i for span in dated_spans(lower) for i in span}
    year, make, model = year_make_model(
        ["." if i in dated else word for i, word in enumerate(spoken[:_HEADER_WORDS])]
    )
    vin = codes.vin(lower)
    valid = None if vin is None else is_valid(vin)
    odometer, hours = meters(lower)
    return Vehicle(
        kind=kind,
        year=year,
        make=make,
        model=model,
        vin=vin,
        vin_valid=valid,
        stock_number=codes.stock_number(lower),
        odometer=odometer,
        hours=hours,
        tires=tire_dates(lower),
        flags=["vin_check_digit"] if valid is False else [],
        vin_alternatives=misheard(vin) if vin and not valid else [],
    )
