"""What is kept: the records of every resource, as typed, frozen values.

A record is what a client said, canonical: quantities as entered, times with their offset, absent and null the same.
"""
