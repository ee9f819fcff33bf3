"""Run every benchmark."""

from benchmarks import bed, blend, heap, season

for one in (bed, blend, heap, season):
    print(one.__doc__)
    one.main()
    print()
