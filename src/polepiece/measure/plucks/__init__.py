"""Plucks recorded before and after a job: onsets, pitch, partials, and what changed between the two."""
