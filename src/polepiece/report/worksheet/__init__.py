"""The work sheet of one chosen job: facts, steps, readings, the owner's page."""
