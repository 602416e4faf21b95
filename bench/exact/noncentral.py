#!/usr/bin/env python3
"""Both tails of the noncentral t by the series of incomplete beta functions (the one of algorithm
AS 243), with 120 digits, so that neither truncation nor cancellation matters. The package integrates
instead: nothing is shared. Needs mpmath.

    python3 bench/exact/noncentral.py internal/num/exact/testdata/noncentral.tsv
"""
import sys

import mpmath as mp

mp.mp.dps = 120


def phi(x):
    return mp.erfc(-x / mp.sqrt(2)) / 2


def cdf(t, nu, delta):
    if t < 0:
        return 1 - cdf(-t, nu, -delta)
    x = t * t / (t * t + nu)
    lam = delta * delta / 2
    total = phi(-delta)
    p = mp.exp(-lam) / 2
    q = mp.exp(-lam) * delta / mp.sqrt(2 * mp.pi)
    ia = mp.betainc(mp.mpf(1) / 2, nu / 2, 0, x, regularized=True)
    ib = mp.betainc(1, nu / 2, 0, x, regularized=True)
    ga = x ** (mp.mpf(1) / 2) * (1 - x) ** (nu / 2) / (mp.beta(mp.mpf(1) / 2, nu / 2) / 2)
    gb = x * (1 - x) ** (nu / 2) / mp.beta(1, nu / 2)
    j = 0
    while True:
        total += p * ia + q * ib
        # I_x(a+1, b) = I_x(a, b) - x^a (1-x)^b/(a B(a, b))
        ia -= ga
        ib -= gb
        a, b = j + mp.mpf(1) / 2, mp.mpf(j + 1)
        ga *= x * (a + nu / 2) / (a + 1)
        gb *= x * (b + nu / 2) / (b + 1)
        j += 1
        p *= lam / j
        q *= lam / (j + mp.mpf(1) / 2)
        if j > lam and abs(p) + abs(q) < mp.mpf(10) ** -110:
            return total


def main(path):
    with open(path, "w") as out:
        print("# mpmath", mp.__version__, "with", mp.mp.dps, "digits: name; dof, delta, t; lower and upper tail", file=out)
        for nu in ("0.5", "1", "2", "3", "4.5", "9", "30", "200", "5000"):
            for delta in ("-6", "-1.5", "0", "0.1", "2", "5.2", "11", "38"):
                for at in ("-25", "-6", "-1.3", "0", "0.01", "0.8", "3", "7.9", "20", "45", "400"):
                    v, d, t = mp.mpf(nu), mp.mpf(delta), mp.mpf(at)
                    lower = cdf(t, v, d)
                    upper = 1 - lower
                    if lower < mp.mpf(10) ** -90 or upper < mp.mpf(10) ** -90:
                        continue
                    print("nct", f"{nu} {delta} {at}", f"{mp.nstr(lower, 17)} {mp.nstr(upper, 17)}", sep="\t", file=out)


main(sys.argv[1])
