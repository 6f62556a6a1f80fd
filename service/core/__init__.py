"""The computation: pure functions of numbers. No input or output, no clock, no global randomness."""
