"""Reference data: muscles, exercises, texts; every number with its basis."""
