# SPDX-License-Identifier: GPL-3.0-or-later
# Rscript range.R   Values of tests/reference/test_range.c that come from no published table:
# the same integrals by R's adaptive quadrature, and for three means from their bivariate normal
# distribution, which shares nothing with the program's way.
options(digits = 12)
over_s <- function(beyond, nu) { # P(statistic / s > q) from P(statistic > w)
  if (is.infinite(nu)) return(beyond(1))
  g <- function(s) sapply(s, function(x) 2 * nu * x * dchisq(nu * x * x, nu) * beyond(x))
  cut <- c(1e-9, .05, .1, .2, .4, .7, 1, 1.4, 2, 4, 7)
  sum(mapply(function(a, b) integrate(g, a, b, rel.tol = 1e-11, abs.tol = 1e-15,
                                      subdivisions = 400)$value, head(cut, -1), tail(cut, -1)))
}
quantile_of <- function(beyond, p, nu, from, to)
  uniroot(function(q) over_s(function(s) beyond(q * s), nu) - (1 - p), c(from, to), tol = 1e-11)$root

# studentized range of 64 means
range_tail <- function(k) function(w)
  1 - integrate(function(x) k * dnorm(x) * (pnorm(x) - pnorm(x - w))^(k - 1), -9, 9 + min(w, 0),
                rel.tol = 1e-11, subdivisions = 1000)$value
cat("range k=64, 0.95, nu=63, Inf:", quantile_of(range_tail(64), .95, 63, 4, 8),
    quantile_of(range_tail(64), .95, Inf, 4, 8), "\n")

# analysis of means: three means
three <- function(h) {
  f <- function(z1) sapply(z1, function(z) {
    lo <- max(-h, -h - z); hi <- min(h, h - z); s <- sqrt(.75)
    dnorm(z) * (pnorm((hi + z / 2) / s) - pnorm((lo + z / 2) / s)) })
  1 - integrate(f, -h, 0, rel.tol = 1e-12)$value - integrate(f, 0, h, rel.tol = 1e-12)$value
}
for (p in c(.90, .95, .99)) cat("means k=3 nu=2", p, quantile_of(three, p, 2, 2, 30), "\n")
cat("means k=3 nu=24 0.95", quantile_of(three, .95, 24, 2, 4), "\n")

# analysis of means: 64 means, by the characteristic function
many <- function(k) function(h) {
  c0 <- h * sqrt(1 - 1 / k)
  psi <- function(t) sapply(t, function(u)
    2 * integrate(function(x) dnorm(x) * cos(u * x), 0, c0, rel.tol = 1e-12, subdivisions = 400)$value)
  1 - sqrt(k / (2 * pi)) * 2 * integrate(function(t) psi(t)^k, 0, 3, rel.tol = 1e-11)$value
}
cat("means k=64 nu=Inf 0.95", quantile_of(many(64), .95, Inf, 2.5, 5), "\n")
