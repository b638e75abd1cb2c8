"""Which material constants a program takes: the name of the environment variable; loads nothing heavy."""

VARIABLE = "POLEPIECE_CONSTANTS"
