"""The fold in the write path: packed states in canonical order, checkpoints to come back to, and answers' way to read."""
