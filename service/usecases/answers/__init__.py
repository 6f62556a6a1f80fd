"""Answers: load what is known of an athlete, compute, and tell it with interval, basis, reasons and cautions."""
