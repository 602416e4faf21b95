# Reference values for internal/num/exact and internal/num/variation, by R's stats (and survival for
# the log-rank sums). Nothing is shared but the formulas.
#
#   Rscript bench/exact/reference.R
#
# writes one line a case: name, arguments, values; tab between, blanks inside. Run from the top folder.
options(warn = 1, digits = 17)
num <- function(x) paste(sprintf("%.17g", as.numeric(x)), collapse = " ")
open_out <- function(path) {
  out <<- file(path, "w")
  cat("#", R.version.string, "stats", as.character(packageVersion("stats")),
      "survival", as.character(packageVersion("survival")), "\n", file = out)
}
put <- function(name, args, values) cat(name, num(args), num(values), sep = "\t", "\n", file = out)

open_out("internal/num/exact/testdata/reference.tsv")

# Fisher: p two-sided, greater, less, odds ratio and 95 % interval. fisher.test solves the last three to
# four digits only; they are solved here again, from the same noncentral hypergeometric sums.
odds <- function(a, b, c, d) {
  m <- a + b; n <- c + d; k <- a + c
  s <- max(0, k - n):min(k, m)
  lw <- dhyper(s, m, n, k, log = TRUE)
  w <- function(l) { v <- lw + l * s; v <- exp(v - max(v)); v / sum(v) }
  solve <- function(f) exp(uniroot(f, c(-60, 60), tol = 1e-15)$root)
  c(if (a == min(s)) 0 else if (a == max(s)) Inf else solve(function(l) sum(w(l) * s) - a),
    if (a == min(s)) 0 else solve(function(l) sum(w(l)[s >= a]) - 0.025),
    if (a == max(s)) Inf else solve(function(l) 0.025 - sum(w(l)[s <= a])))
}
for (t in list(c(3, 0, 0, 3), c(3, 1, 1, 3), c(2, 1, 0, 3), c(0, 5, 2, 1), c(1, 9, 11, 3), c(10, 2, 3, 15),
               c(5, 5, 5, 5), c(30, 70, 55, 45), c(0, 20, 7, 40), c(400, 600, 480, 520), c(3, 97, 1, 2), c(60, 1, 2, 90))) {
  x <- matrix(t, 2, byrow = TRUE)
  put("fisher", t, c(fisher.test(x)$p.value, fisher.test(x, alternative = "greater")$p.value,
                     fisher.test(x, alternative = "less")$p.value, odds(t[1], t[2], t[3], t[4])))
}

# Permutation of means: every split listed by combn. Arguments: nA, then the values, A first.
splits <- function(x, nA) { d <- x - mean(x); combn(length(x), nA, function(i) sum(d[i])) }
shares <- function(sums, seen) {
  e <- 1e-10
  c(mean(abs(sums) >= abs(seen) - e), mean(sums >= seen - e), mean(sums <= seen + e))
}
for (g in list(list(3, c(21.3, 22.9, 24.0, 17.1, 18.2, 20.4)), list(2, c(5, 1, 2, 2, 3, 9, 4)),
               list(5, c(12.1, 13.4, 11.8, 15.2, 14.4, 10.9, 11.1, 12.0, 9.8, 13.1, 10.2)),
               list(8, c(3.1, 2.7, 4.4, 5.6, 1.2, 8.8, 7.9, 6.1, 2.2, 2.7, 3.3, 1.1, 0.4, 5.2, 4.4, 3.9)))) {
  s <- splits(g[[2]], g[[1]])
  put("means", c(g[[1]], g[[2]]), shares(s, s[1]))
  r <- rank(g[[2]])
  s <- splits(r, g[[1]])
  put("ranks", c(g[[1]], g[[2]]), shares(s, s[1]))
}
# Without ties wilcox.test counts too. Two-sided it doubles the smaller tail, which is the same then.
set.seed(20); x <- rnorm(30); y <- rnorm(34, 0.6)
put("ranks", c(30, x, y), c(wilcox.test(x, y, exact = TRUE)$p.value, wilcox.test(x, y, "greater", exact = TRUE)$p.value,
                            wilcox.test(x, y, "less", exact = TRUE)$p.value))

# Two pairs: all pairs of splits. Arguments: nA1, n1, nA2, n2, values.
a <- c(5.1, 6.0, 7.2, 4.0, 4.4, 3.9, 6.5); b <- c(9.0, 8.1, 7.7, 7.1, 6.9)
s1 <- splits(a, 3); s2 <- splits(b, 2)
put("strata", c(3, 7, 2, 5, a, b), shares(as.vector(outer(s1, s2, "+")), s1[1] + s2[1]))

# Log-rank: observed less expected in A. Arguments: nA, n, times, seen (1) or at least (0).
suppressWarnings(library(survival))
lr <- function(nA, time, seen) {
  g <- rep(c("A", "B"), c(nA, length(time) - nA))
  d <- survdiff(Surv(time, seen) ~ g)
  put("logrank", c(nA, length(time), time, seen), d$obs[1] - d$exp[1])
}
lr(4, c(3, 5, 7, 9, 1, 2, 5, 6, 8), c(1, 1, 0, 1, 1, 0, 1, 1, 0))
lr(3, c(2, 2, 4, 2, 3, 4), c(1, 0, 1, 1, 1, 1))

for (p in list(c(0.01, 0.04, 0.03), c(0.5, 0.001, 0.02, 0.02, 0.9), c(0.2), c(1, 0, 0.3, 0.3)))
  put("holm", p, p.adjust(p, "holm"))

# Noncentral t, within what R's algorithm can do (ncp up to 37.6).
for (df in c(1, 2, 4, 9, 42)) for (ncp in c(0.5, 3, 10)) {
  for (q in c(-1, 0.5, 4, 12)) put("pt", c(q, df, ncp), pt(q, df, ncp))
  for (p in c(0.05, 0.75, 0.95)) put("qt", c(p, df, ncp), uniroot(function(x) pt(x, df, ncp) - p, qt(p, df, ncp) * c(0.9, 1.1) + c(-1, 1) * 1e-3, tol = 1e-14)$root)
}

# Two-sided tolerance factors by R's adaptive integration, and the tail of the content solved at each mean.
two <- function(n, content, conf) {
  r <- function(z) sapply(z, function(z) {
    off <- z / sqrt(n); q <- qnorm((1 + content) / 2)
    uniroot(function(r) log(pnorm(off - r) + pnorm(-off - r)) - log(1 - content), c(q * (1 - 1e-12), q + 2 * off + 1e-9), tol = 1e-14)$root
  })
  short <- function(k) integrate(function(z) 2 * dnorm(z) * pchisq((n - 1) * (r(z) / k)^2, n - 1), 0, 10, rel.tol = 1e-11, subdivisions = 500)$value
  exp(uniroot(function(l) 1 - conf - short(exp(l)), log(c(0.5, 20000)), tol = 1e-13)$root)
}
for (n in c(2, 3, 5, 10, 30, 200)) for (g in list(c(0.95, 0.95), c(0.9, 0.99), c(0.999, 0.75)))
  put("twosided", c(n, g), two(n, g[1], g[2]))

# Power. strict counts both tails; R's pt carries an absolute error of about 1e-10 here.
for (n in c(2, 3, 5, 20)) for (d in c(0.3, 1, 2.5)) {
  put("power2", c(n, d, 2), power.t.test(n, d, strict = TRUE)$power)
  put("power2", c(n, d, 1), power.t.test(n, d, alternative = "one.sided")$power)
  put("power1", c(n, d, 2), power.t.test(n, d, type = "one.sample", strict = TRUE)$power)
}
for (d in c(0.2, 0.5, 1, 3)) put("size2", c(d, 0.8), ceiling(power.t.test(delta = d, power = 0.8, strict = TRUE, tol = 1e-10)$n))

# Grubbs by qt, and Dixon's tails by nested adaptive integration.
for (n in c(3, 5, 12, 40)) for (a in c(0.05, 0.01, 0.001)) {
  t <- qt(a / n, n - 2, lower.tail = FALSE)
  put("grubbs", c(n, a), (n - 1) / sqrt(n) * sqrt(t^2 / (n - 2 + t^2)))
}
dixon <- function(i, j, n, q) {
  m <- n - j - 2
  inner <- function(y) sapply(y, function(y) integrate(function(v) {
    a <- pnorm(y + (1 - q) * v) - pnorm(y); b <- pnorm(y + v) - pnorm(y + (1 - q) * v)
    dnorm(y + v) * (a^m + (i == 2) * m * b * a^(m - 1))
  }, 0, 14, rel.tol = 1e-10, abs.tol = 0, subdivisions = 500)$value)
  factorial(n) / factorial(j) / factorial(m) *
    integrate(function(y) dnorm(y) * pnorm(y)^j * inner(y), -7, 5, rel.tol = 1e-8, subdivisions = 500)$value
}
for (k in list(c(1, 0, 5, 0.6), c(1, 1, 9, 0.5), c(2, 1, 12, 0.5), c(2, 2, 15, 0.4), c(2, 2, 30, 0.4))) put("dixon", k, do.call(dixon, as.list(k)))
close(out)

open_out("internal/num/variation/testdata/reference.tsv")

# One-way analysis of variance. Arguments: number of groups, their sizes, values. Values: sums of squares
# between and within, F, P.
one <- function(groups) {
  g <- factor(rep(seq_along(groups), lengths(groups)))
  a <- summary(aov(unlist(groups) ~ g))[[1]]
  put("aov", c(length(groups), lengths(groups), unlist(groups)), c(a[1, 2], a[2, 2], a[1, 4], a[1, 5]))
}
one(list(c(6.9, 5.4, 5.8, 4.6, 4.0), c(8.3, 6.8, 7.8, 9.2, 6.5), c(8.0, 10.5, 8.1, 6.9, 9.3)))
one(list(c(12.1, 12.4), c(11.8, 13.0, 12.2, 12.9), c(14.1), c(10.2, 10.9, 11.4)))

# Critical values of h (p, level), k (own and all degrees, level) and Cochran's C (own and all degrees, p, level).
for (p in c(3, 8, 30)) for (a in c(0.005, 0.05)) {
  t <- qt(1 - a / 2, p - 2)
  put("h", c(p, a), (p - 1) * t / sqrt(p * (t^2 + p - 2)))
}
for (k in list(c(2, 16, 0.005), c(1, 8, 0.005), c(4, 50, 0.05), c(3, 7, 0.01))) {
  f <- qf(k[3], k[1], k[2] - k[1], lower.tail = FALSE)
  put("k", k, sqrt(k[2] * f / (k[1] * f + k[2] - k[1])))
}
for (k in list(c(2, 6, 3, 0.05), c(2, 16, 8, 0.05), c(2, 20, 10, 0.01), c(1, 40, 40, 0.05), c(3, 9, 4, 0.01))) {
  f <- qf(k[4] / k[3], k[1], k[2] - k[1], lower.tail = FALSE)
  put("cochran", k, k[1] * f / (k[1] * f + k[2] - k[1]))
}
for (d in list(c(1, 1), c(2, 9), c(7, 3), c(200, 300))) for (p in c(0.9, 0.05, 1e-6)) put("qf", c(p, d), qf(p, d[1], d[2], lower.tail = FALSE))
close(out)
