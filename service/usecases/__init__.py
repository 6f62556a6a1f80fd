"""The verbs: load, compute, keep. The calendar lives here; HTTP and SQL do not."""
