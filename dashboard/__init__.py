"""The dashboard: a local page from CSV to decision, on a laptop or a phone at the field.

It computes nothing of its own: each callback makes one analyzer call and draws the answer.
"""
