"""Imported in the process that others are forked from: solver and compiler are loaded there once, not once in each."""

from polepiece.later import load_all

load_all()
