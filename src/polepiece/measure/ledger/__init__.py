"""What was predicted beside what was measured or heard: agreement, coverage, blind trials."""
