"""The HTTP shell: parse, call one use case, render."""
