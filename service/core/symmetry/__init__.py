"""How one side compares with the other: published indices, the posterior of the log ratio, limb girths."""
