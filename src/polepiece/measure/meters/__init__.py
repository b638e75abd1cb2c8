"""Hand-held instruments: multimeters, LCR meters, gaussmeters."""
