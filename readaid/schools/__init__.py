"""A school: its makers and their forms as a whole - matrix, nearest maker, tree, lineage, drift in time.

Rank 4: it works on forms and persons that others hand to it, and knows neither register nor screen.
"""
