"""Replays a log in time order and predicts every set before it is seen: how good would it have been?"""
