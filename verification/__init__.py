"""Long studies of accuracy against something outside; see `verification.run`."""
