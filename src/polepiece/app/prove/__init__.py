"""Parts of the page that proves a job: sweeps, plucks, blind trials, their proofs."""
