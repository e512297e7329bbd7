# SPDX-License-Identifier: GPL-3.0-or-later
# The expected intervals of tests/unit/test_pressure_drop.c, by R's own t.test and lm.
# Rscript tests/reference/scripts/pressure_drop.R
options(digits = 15)

# one round: three shots a stage, Welch's interval of each drop, Student's of the last mean
nozzle <- c(5.8, 5.9, 6.0)
runner <- c(14.5, 14.7, 14.9)
gate <- c(31.1, 31.4, 31.7)
print(as.numeric(t.test(nozzle)$conf.int))
print(as.numeric(t.test(runner, nozzle)$conf.int))
print(as.numeric(t.test(gate, runner)$conf.int))
print(as.numeric(t.test(gate)$conf.int))

# two rounds: from shots by t.test; between rounds by the residual mean square of the rounds' means
stage <- factor(c(1, 1, 1, 2, 2, 2, 3, 3, 3, 1, 1, 1, 2, 2, 2, 3, 3, 3))
round <- rep(1:2, each = 9)
y <- c(20.1, 20.3, 20.2, 60.4, 60.0, 60.2, 120.3, 120.9, 120.6,
       20.9, 20.7, 21.1, 61.6, 61.9, 61.3, 123.0, 123.9, 123.3)
mean_of <- tapply(y, stage, mean)
of_visit <- aggregate(y, list(stage = stage, round = round), mean)
absolute <- lm(x ~ stage, of_visit)
relative <- lm(I(x / mean_of[stage]) ~ stage, of_visit)
dof <- absolute$df.residual
v <- summary(absolute)$sigma^2
r <- summary(relative)$sigma^2
half_of <- function(c) {
  i <- which(c != 0)
  ci <- if (length(i) == 1) t.test(y[stage == i])$conf.int
        else t.test(y[stage == i[2]], y[stage == i[1]])$conf.int
  rows <- diff(as.numeric(ci)) / 2
  visits <- qt(0.975, dof) * sqrt(max(v * sum(c^2 / 2), r * sum(c^2 * mean_of^2 / 2)))
  c(rows = rows, visits = visits)
}
print(as.numeric(mean_of))
print(c(dof = dof, v = v, r = r))
print(half_of(c(1, 0, 0)))
print(half_of(c(-1, 1, 0)))
print(half_of(c(0, -1, 1)))
print(half_of(c(0, 0, 1)))
