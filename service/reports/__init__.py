"""Pages to read, made from answers: rendering only, one file without scripts or anything fetched."""
