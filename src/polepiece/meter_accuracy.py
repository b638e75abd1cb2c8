"""How far hand-held meters may be off: limits, as shares of what they show. Common practice, no source."""

METER_ACCURACY = 0.01  # of a multimeter on its kohm ranges
LCR_ACCURACY = 0.02  # of an LCR meter near 1 H, share of |Z|
