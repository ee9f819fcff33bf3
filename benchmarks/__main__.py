"""Run every benchmark."""

from benchmarks import bed, blend, heap, season, web

for one in (bed, blend, heap, season, web):
    print(one.__doc__)
    one.main()
    print()
