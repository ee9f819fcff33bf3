"""What using free material instead of bought fertiliser and landfill saves: mass, methane, money.

>>> from loamery.benefit.landfill import Waste, methane_by_year
>>> waste = Waste(mass_kg=1000.0, doc=0.15, doc_f=0.5, k_per_year=0.185)
>>> [round(float(one), 3) for one in methane_by_year(waste, 3)]
[8.445, 7.018, 5.833]
"""
