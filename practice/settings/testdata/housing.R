# The housing data of MASS, and what polr makes of them: lines "row" with the
# level, the figures and the weight, then "fit" with the figures and "se".
library(MASS)
h <- housing
x <- model.matrix(~ Infl + Type + Cont, h)[, -1]
say <- function(what, ...) cat(what, sapply(c(...), function(x) sprintf("%.15g", x)), sep = ",", fill = FALSE, "\n")
for (i in seq_len(nrow(h))) say("row", as.integer(h$Sat)[i] - 1, x[i, ], h$Freq[i])
f <- polr(Sat ~ Infl + Type + Cont, weights = Freq, data = h, Hess = TRUE, control = list(reltol = 1e-15))
s <- summary(f)$coefficients[, 2]
n <- length(coef(f))
say("fit", f$zeta, coef(f))
say("se", s[-(1:n)], s[1:n])
say("deviance", f$deviance)
