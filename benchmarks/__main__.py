"""Run every benchmark."""

from benchmarks import blend, season

for one in (blend, season):
    print(one.__doc__)
    one.main()
    print()
