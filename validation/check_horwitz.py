"""Expected between-laboratory spread against AOAC Appendix F (2012), Table D1, and Thompson's modification.

Table D1 as printed (read): 100 % 2, 1 % 4, 0.01 % 8, 1 ppm 16, 10 ppb 32, 1 ppb 45 (percent). Thompson (read):
22 % below 1.2e-7, Horwitz to 0.138; sigma = 0.01 sqrt(C) above 0.138 is recalled, not read.
"""

import pytest

from loamery.reference import coefficient
from loamery.uncertain import horwitz_rsd

TABLE_D1 = [(1.0, 2), (1e-2, 4), (1e-4, 8), (1e-6, 16), (1e-8, 32), (1e-9, 45)]


def plain_horwitz(mass_frac: float) -> float:
    return coefficient("horwitz_a").value * mass_frac ** (coefficient("horwitz_exponent").value - 1.0)


@pytest.mark.parametrize(("mass_frac", "printed"), TABLE_D1)
def test_table_d1(mass_frac: float, printed: int):
    assert plain_horwitz(mass_frac) == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize(("mass_frac", "printed"), [row for row in TABLE_D1 if 1.2e-7 <= row[0] <= 0.138])
def test_the_function_used_is_horwitz_in_its_range(mass_frac: float, printed: int):
    assert 100 * horwitz_rsd(mass_frac) == pytest.approx(printed, abs=1e-9)


def test_thompson_branches():
    assert horwitz_rsd(1e-8) == 0.22
    assert 100 * horwitz_rsd(1.2000001e-7) == pytest.approx(22, abs=0.3)
    assert horwitz_rsd(0.1381) == pytest.approx(horwitz_rsd(0.1379), rel=0.003)


def test_print_the_table(capsys: pytest.CaptureFixture[str]):
    with capsys.disabled():
        print("\nRSD %: AOAC table D1, plain formula, function used (with Thompson's ends)")
        for mass_frac, printed in TABLE_D1:
            print(
                f"  C = {mass_frac:7.0e} {printed:5d} {plain_horwitz(mass_frac):8.2f} {100 * horwitz_rsd(mass_frac):8.2f}"
            )
