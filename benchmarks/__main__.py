"""Run every benchmark."""

from benchmarks import blend, heap, season

for one in (blend, heap, season):
    print(one.__doc__)
    one.main()
    print()
