"""How many hard sets a muscle got, per side and session, and where weekly volume meets a stated criterion."""
