"""Small field trials: lay them out by chance, say what they can see, analyse them, and say no more than they show.

>>> from loamery.trials.power import Layout, blocks_needed
>>> blocks_needed(Layout(treatments=3, blocks=2), difference=0.30, cv=0.18) > 4
True
"""
