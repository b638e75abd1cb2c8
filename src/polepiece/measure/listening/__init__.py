"""Listening that can be trusted: rules fixed beforehand, blind trials, preferences, the least difference heard."""
