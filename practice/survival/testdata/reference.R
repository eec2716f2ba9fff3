# What the survival package of R makes of observations: the file has the
# columns time, cause, group. Lines: what, then figures with 15 digits.
library(survival)
d <- read.csv(commandArgs(TRUE)[1])
say <- function(what, ...) cat(what, sapply(c(...), function(x) sprintf("%.15g", x)), sep = ",", fill = FALSE, "\n")
k <- survfit(Surv(time, cause > 0) ~ 1, data = d, conf.type = "log-log")
for (i in which(k$n.event > 0 & k$surv > 0)) say("km", k$time[i], k$n.risk[i], k$n.event[i], k$surv[i], k$surv[i] * k$std.err[i], k$lower[i], k$upper[i])
g <- survdiff(Surv(time, cause > 0) ~ group, data = d)
say("logrank", g$chisq, g$exp)
causes <- sort(unique(d$cause[d$cause > 0]))
d$state <- factor(d$cause, c(0, causes))
d$id <- seq_len(nrow(d))
a <- survfit(Surv(time, state) ~ 1, data = d, id = id, conf.type = "log-log")
for (c in causes) {
  j <- which(a$states == as.character(c))
  e <- a$n.event
  for (i in which(e[, j] > 0)) say(paste0("aj", c), a$time[i], a$pstate[i, j], a$std.err[i, j], a$lower[i, j], a$upper[i, j])
}
