# Writes the answers of R's survival package that internal/num/censor is held against.
#
#   Rscript bench/survival/reference.R internal/num/censor/testdata/survival.csv
#
# Each line: case, quantity, value. The data of each case stand in cases_test.go under the same name.
# Made data; only "handbook" is published (NIST/SEMATECH e-Handbook 8.4.1.3).
library(survival)
out <- file(commandArgs(TRUE)[1], "w")
cat("# ", R.version.string, ", survival ", as.character(packageVersion("survival")), "\n", sep = "", file = out)
put <- function(case, what, x) cat(sprintf("%s,%s,%.15g\n", case, what, x), sep = "", file = out)
ctl <- survreg.control(rel.tolerance = 1e-14, toler.chol = 1e-14, maxiter = 500)
Inf2NA <- function(x) ifelse(is.infinite(x), NA, x)

fits <- function(case, lo, hi, count = rep(1, length(lo)), design = NULL, dists = c("weibull", "lognormal", "gaussian", "exponential")) {
  for (d in dists) {
    s <- Surv(Inf2NA(ifelse(lo <= 0, -Inf, lo)), Inf2NA(hi), type = "interval2")
    f <- if (is.null(design)) s ~ 1 else s ~ design
    m <- survreg(f, dist = d, weights = count, control = ctl)
    name <- c(weibull = "weibull", lognormal = "lognormal", gaussian = "normal", exponential = "exponential")[[d]]
    b <- coef(m)
    for (i in seq_along(b)) put(case, paste0(name, ".b", i - 1), b[[i]])
    v <- vcov(m)
    for (i in seq_along(b)) put(case, paste0(name, ".se", i - 1), sqrt(v[i, i]))
    put(case, paste0(name, ".sigma"), m$scale)
    if (d != "exponential") put(case, paste0(name, ".selogsigma"), sqrt(v[nrow(v), nrow(v)]))
    put(case, paste0(name, ".loglik"), m$loglik[2])
  }
}

handbook <- c(54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
fits("handbook", c(handbook, rep(500, 10)), c(handbook, rep(Inf, 10)))

# All kinds together.
lo <- c(12.1, 14.3, 9.8, 15, 17, 0, 10, 13, 16.2, 11)
hi <- c(12.1, 14.3, 9.8, Inf, Inf, 11, 12, 14.5, 16.2, Inf)
fits("mixed", lo, hi)
fits("counted", lo, hi, count = c(1, 2, 1, 3, 1, 2, 1, 4, 1, 2))

# Staircase: bounds only.
fits("bounds", c(1.0, 1.2, 0, 1.1, 0, 1.3, 0), c(Inf, Inf, 1.1, Inf, 1.2, Inf, 1.4), dists = c("weibull", "lognormal", "gaussian"))

# Regression: material (0/1) and length.
lo <- c(21.3, 19.8, 22, 23.5, 20.1, 22, 14.2, 16.1, 13.3, 15.7, 12, 17)
hi <- c(21.3, 19.8, Inf, 23.5, 20.1, Inf, 14.2, 16.1, 13.3, 15.7, 14, Inf)
x <- cbind(knot = rep(0:1, each = 6), length = c(.3, .6, .9, .3, .6, .9, .3, .6, .9, .3, .6, .9))
fits("regression", lo, hi, design = x)

# Profile likelihood by survreg itself: the 5 % quantile, by an offset in the reparametrised fit.
profile_ends <- function(case, lo, hi, dist, zp) {
  y <- cbind(lo, hi)
  surv <- Surv(lo, Inf2NA(hi), type = "interval2")
  top <- survreg(surv ~ 1, dist = dist, control = ctl)
  mu <- coef(top)[[1]]; q <- mu + zp * top$scale
  ll <- function(q) optimize(function(ls) survreg(surv ~ 1 + offset(rep(q - zp * exp(ls), length(lo))), dist = dist, scale = exp(ls), init = 0,
      control = survreg.control(maxiter = 0))$loglik[2], c(-6, 4), maximum = TRUE, tol = 1e-12)$objective
  g <- function(q) 2 * (top$loglik[2] - ll(q)) - qchisq(.95, 1)
  put(case, paste0(dist, ".q05"), exp(q))
  put(case, paste0(dist, ".q05lo"), exp(uniroot(g, c(q - 4, q), tol = 1e-12)$root))
  put(case, paste0(dist, ".q05hi"), exp(uniroot(g, c(q, q + 3), tol = 1e-12)$root))
}
for (d in c("weibull", "lognormal"))
  profile_ends("handbook", c(handbook, rep(500, 10)), c(handbook, rep(Inf, 10)), d, if (d == "weibull") log(-log(.95)) else qnorm(.05))

# Product limit: e-Handbook 8.2.1.5 data.
time <- c(10, 32, 56, 98, 122, 181, 50, 100, 125, 150, rep(200, 10))
event <- c(rep(1, 6), rep(0, 14))
for (type in c("plain", "log-log")) {
  k <- survfit(Surv(time, event) ~ 1, conf.type = type, conf.int = .95)
  j <- which(k$n.event > 0)
  for (i in seq_along(j)) {
    if (type == "plain") { put("km", paste0("s", i), k$surv[j[i]]); put("km", paste0("se", i), k$std.err[j[i]] * k$surv[j[i]]) }
    put("km", paste0(type, ".lo", i), k$lower[j[i]]); put("km", paste0(type, ".hi", i), k$upper[j[i]])
  }
}

# Turnbull. survfit stops its search early (compare the two), so the self-consistency equations are also
# iterated here to the end, on the innermost intervals (l, u]; an exact value x is (x-, x].
em <- function(case, lo, hi) {
  eps <- 1e-9
  l <- ifelse(lo == hi, lo - eps, lo)
  ends <- sort(unique(c(l, hi)))
  cells <- cbind(head(ends, -1), tail(ends, -1))
  inside <- outer(seq_along(l), seq_len(nrow(cells)), function(i, j) cells[j, 1] >= l[i] & cells[j, 2] <= hi[i])
  p <- rep(1 / nrow(cells), nrow(cells))
  for (k in 1:200000) p <- colMeans(inside * rep(p, each = length(l)) / as.vector(inside %*% p))
  for (x in sort(unique(hi[is.finite(hi)]))) put(case, paste0("at", x), sum(p[cells[, 2] > x]))
}
turnbull <- function(case, lo, hi) {
  k <- survfit(Surv(Inf2NA(ifelse(lo <= 0, -Inf, lo)), Inf2NA(hi), type = "interval2") ~ 1)
  for (x in sort(unique(hi[is.finite(hi)]))) put(case, paste0("survfit.at", x), summary(k, times = x, extend = TRUE)$surv)
  em(case, lo, hi)
}
turnbull("turnbull", c(0, 2, 4, 5, 6, 8, 3, 7), c(3, 4, 7, 5, 9, Inf, 6, 7))

# Log-rank, two and three groups, with ties.
a <- c(6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11); ae <- c(rep(1, 9), rep(0, 4))
b <- c(1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8); be <- rep(1, 12)
d <- c(4, 5, 9, 12, 12, 15); de <- c(1, 0, 1, 1, 0, 1)
two <- survdiff(Surv(c(a, b), c(ae, be)) ~ rep(1:2, c(13, 12)))
three <- survdiff(Surv(c(a, b, d), c(ae, be, de)) ~ rep(1:3, c(13, 12, 6)))
put("logrank2", "chi2", two$chisq); put("logrank2", "p", pchisq(two$chisq, 1, lower.tail = FALSE)); put("logrank2", "expected1", two$exp[1])
put("logrank3", "chi2", three$chisq); put("logrank3", "p", pchisq(three$chisq, 2, lower.tail = FALSE)); put("logrank3", "expected2", three$exp[2])
close(out)
