# Reference values for sample sizes and up-and-down series, by R's stats package.
#
#   Rscript bench/power/reference.R
#
# Printed values stand in the tests of internal/plan and internal/num/probit with the version of R.
cat(R.version.string, "\n")

cat("\npower.t.test on log peaks, two-sided, both tails counted (strict)\n")
for (c in list(c(1.2, 0.08, 3), c(1.2, 0.08, 5), c(1.1, 0.08, 10), c(1.05, 0.15, 20), c(0.8, 0.2, 4))) {
  s <- sqrt(log(1 + c[2]^2))
  p <- power.t.test(n = c[3], delta = abs(log(c[1])), sd = s, sig.level = 0.05, strict = TRUE)$power
  cat(sprintf("ratio %g cv %g n %g: power %.12g\n", c[1], c[2], c[3], p))
}
for (c in list(c(1.2, 0.08, 0.8), c(1.1, 0.08, 0.8), c(1.05, 0.15, 0.9))) {
  s <- sqrt(log(1 + c[2]^2))
  n <- power.t.test(power = c[3], delta = abs(log(c[1])), sd = s, sig.level = 0.05, strict = TRUE, tol = 1e-10)$n
  cat(sprintf("ratio %g cv %g power %g: n %.10g\n", c[1], c[2], c[3], n))
}
for (n in c(2, 3, 5, 10)) {
  s <- sqrt(log(1 + 0.08^2))
  d <- power.t.test(n = n, power = 0.8, sd = s, delta = NULL, sig.level = 0.05, strict = TRUE, tol = 1e-10)$delta
  cat(sprintf("cv 0.08 n %g power 0.8: ratio %.10g\n", n, exp(d)))
}

cat("\npower of Fisher's exact test, two-sided, by enumeration with fisher.test\n")
fisher_power <- function(n, a, b, alpha) {
  sum(outer(0:n, 0:n, Vectorize(function(i, j) {
    p <- fisher.test(matrix(c(i, n - i, j, n - j), 2))$p.value
    if (p <= alpha * (1 + 1e-7)) dbinom(i, n, a) * dbinom(j, n, b) else 0
  })))
}
for (c in list(c(3, 0.1, 0.9), c(4, 0.05, 0.95), c(10, 0.1, 0.6), c(15, 0.2, 0.7))) {
  cat(sprintf("n %g break probabilities %g and %g: power %.12g\n", c[1], c[2], c[3], fisher_power(c[1], c[2], c[3], 0.05)))
}

cat("\nprobit likelihood of broken and held at heights\n")
series <- list(
  dixon_mood = list(x = c(0.8, 1.1, 1.4, 1.7, 2.0), b = c(0, 2, 18, 10, 1), h = c(2, 18, 9, 0, 0)),
  small = list(x = c(1.0, 1.2, 1.4, 1.6), b = c(0, 1, 2, 1), h = c(1, 2, 1, 0)))
for (name in names(series)) {
  d <- series[[name]]
  f <- glm(cbind(b, h) ~ x, family = binomial(probit), data = d, control = list(epsilon = 1e-15, maxit = 100))
  ll <- function(a, s) sum(d$b * ifelse(d$b > 0, pnorm(a + s * d$x, log.p = TRUE), 0) + d$h * ifelse(d$h > 0, pnorm(-(a + s * d$x), log.p = TRUE), 0))
  a <- coef(f)[[1]]; s <- coef(f)[[2]]; top <- ll(a, s)
  cat(sprintf("%s: mu %.12g sigma %.12g loglik %.12g\n", name, -a / s, 1 / s, top))
  for (p in c(0.5, 0.05)) {
    z <- qnorm(p)
    profile <- function(q) optimize(function(u) ll(z - exp(u) * q, exp(u)), c(-12, 12), maximum = TRUE, tol = 1e-12)$objective
    g <- function(q) profile(q) - top + qchisq(0.95, 1) / 2
    at <- (z - a) / s
    lo <- tryCatch(uniroot(g, c(at - 20, at), tol = 1e-12)$root, error = function(e) -Inf)
    hi <- tryCatch(uniroot(g, c(at, at + 20), tol = 1e-12)$root, error = function(e) Inf)
    cat(sprintf("  quantile %g: %.12g, profile interval %.9g to %.9g\n", p, at, lo, hi))
  }
}

cat("\ntwo groups of normal values with lower bounds, survreg of package survival\n")
library(survival)
cat("survival", format(packageVersion("survival")), "\n")
gain <- function(y, seen, g) {
  k <- survreg.control(rel.tolerance = 1e-14, maxiter = 200)
  2 * (survreg(Surv(y, seen) ~ g, dist = "gaussian", control = k)$loglik[2] - survreg(Surv(y, seen) ~ 1, dist = "gaussian", control = k)$loglik[1])
}
cat(sprintf("three and three, one bound each: %.12g\n", gain(c(1.0, 1.3, 1.2, 1.5, 1.9, 1.6), c(1, 1, 0, 1, 1, 0), c(0, 0, 0, 1, 1, 1))))
cat(sprintf("four and five, two and three bounds: %.12g\n", gain(c(9.1, 9.4, 8.8, 9.0, 9.6, 9.3, 9.9, 9.2, 9.5), c(1, 1, 0, 0, 1, 0, 1, 0, 0), c(0, 0, 0, 0, 1, 1, 1, 1, 1))))
