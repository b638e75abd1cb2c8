"""What was predicted beside what was measured or heard: agreement and coverage."""
