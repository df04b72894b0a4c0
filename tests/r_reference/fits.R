# Fits what the folder's cases.json asks for, to each case a CSV of the same name beside it, and
# writes fits.json there. Called by test_live_fits.py: Rscript fits.R FOLDER
suppressMessages({
  library(lme4)
  library(lmerTest)
  library(pbkrtest)
  library(emmeans)
  library(nlme)
  library(jsonlite)
})
options(contrasts = c("contr.sum", "contr.poly"), digits = 15)
emm_options(lmerTest.limit = 5000, pbkrtest.limit = 5000, msg.interaction = FALSE,
            opt.digits = FALSE)

# lme4's own optimiser stops at about six digits; this goes on until the criterion no longer falls.
tight <- function(fn, par, lower, upper, control) {
  first <- minqa::bobyqa(par, fn, lower, upper,
                         control = list(rhobeg = .05, rhoend = 1e-9, maxfun = 1e5))
  best <- first$par
  for (turn in 1:4) {
    next_ <- nlminb(best, fn, lower = lower, upper = upper,
                    control = list(rel.tol = 1e-15, abs.tol = 0, x.tol = 1e-13,
                                   eval.max = 5000, iter.max = 2000))
    if (next_$objective <= fn(best)) best <- next_$par
  }
  list(par = best, fval = fn(best), conv = 0, message = "ok", feval = first$feval)
}

columns <- function(table) as.list(as.data.frame(table))

named <- function(table) c(list(term = rownames(table)), columns(table))

# R lists the first factor fastest, the other side the last: so the factors are turned round.
compared <- function(fit, asked, ...) {
  by <- if (length(asked$by)) unlist(asked$by)
  grid <- emmeans(fit, rev(unlist(asked$spec)), by = by, ...)
  pairs_by <- function(adjust) {
    columns(summary(pairs(grid, by = by), infer = c(TRUE, TRUE), adjust = adjust))
  }
  list(means = columns(summary(grid, infer = c(TRUE, FALSE))),
       none = pairs_by("none"), tukey = pairs_by("tukey"))
}

# With several numerator degrees of freedom Satterthwaite's answer depends on how a hypothesis is
# written down, and R's changes with the coding of the factors (10.1118 to 10.1122 for Machines).
# So where the factor stands alone R is asked what we ask: the differences from the first level.
satterthwaite <- function(model, case) {
  tests <- anova(model, type = 3, ddf = "Satterthwaite")
  if (nrow(tests) == 1) {
    from_first <- contrast(emmeans(model, rownames(tests), lmer.df = "asymptotic"), "trt.vs.ctrl1")
    tests <- cbind(contest(model, from_first@linfct, ddf = "Satterthwaite"),
                   row.names = rownames(tests))
  }
  named(tests)
}

with_lmer <- function(case, data) {
  random <- paste0("(1 | ", unlist(case$random), ")", collapse = " + ")
  formula <- as.formula(paste(case$response, "~", case$fixed, "+", random))
  model <- lmerTest::lmer(formula, data, REML = TRUE,
                          control = lmerControl("tight", check.conv.singular = "ignore"))
  parts <- as.data.frame(VarCorr(model))
  means <- lapply(case$means, function(m) compared(model, m, lmer.df = "kenward-roger"))
  list(loglik = as.numeric(logLik(model)),
       variances = as.list(setNames(parts$vcov, parts$grp)),
       covariance = unname(as.matrix(vcovAdj(model))),
       tests = list("kenward-roger" = named(anova(model, type = 3, ddf = "Kenward-Roger")),
                    satterthwaite = satterthwaite(model, case)),
       means = means)
}

# The search sticks for some starts: the best of several stands.
with_nlme <- function(case, data) {
  fixed <- as.formula(paste(case$response, "~", case$fixed))
  form <- as.formula(paste("~", case$repeated[[2]], "|", case$repeated[[1]]))
  weights <- if (length(case$variance_by)) {
    varIdent(form = as.formula(paste("~ 1 |", case$variance_by)))
  }
  tried <- lapply(c(.2, .5, .8, .95, .99, .999), function(start) tryCatch({
    correlation <- corCAR1(start, form = form)
    if (length(case$random)) {
      do.call(lme, list(fixed, data, as.formula(paste("~ 1 |", case$random[[1]])),
                        correlation = correlation, weights = weights,
                        control = lmeControl(maxIter = 500, msMaxIter = 1000, tolerance = 1e-12,
                                             msTol = 1e-13, niterEM = 50)))
    } else {
      do.call(gls, list(fixed, data, correlation = correlation, weights = weights,
                        control = glsControl(maxIter = 500, msMaxIter = 1000, tolerance = 1e-12,
                                             msTol = 1e-13)))
    }
  }, error = function(problem) NULL))
  tried <- Filter(Negate(is.null), tried)
  model <- tried[[which.max(sapply(tried, function(one) as.numeric(logLik(one))))]]
  ratios <- model$modelStruct$varStruct
  ratios <- if (is.null(ratios)) 1 else coef(ratios, unconstrained = FALSE, allCoef = TRUE)
  random <- if (length(case$random)) as.numeric(VarCorr(model)[1, 1])
  list(loglik = as.numeric(logLik(model)),
       phi = as.numeric(coef(model$modelStruct$corStruct, unconstrained = FALSE)),
       residual = as.list((ratios * model$sigma)^2), random = random,
       covariance = unname(as.matrix(vcov(model))),
       tests = named(anova(model, type = "marginal")[-1, ]),
       means = lapply(case$means, function(m) {
         compared(model, m, mode = if (inherits(model, "gls")) "df.error" else "containment")
       }))
}

folder <- commandArgs(trailingOnly = TRUE)[1]
asked <- read_json(file.path(folder, "cases.json"))
fits <- lapply(names(asked), function(name) {
  case <- asked[[name]]
  data <- read.csv(file.path(folder, paste0(name, ".csv")), na.strings = character(0))
  for (factor_ in names(case$levels)) {
    data[[factor_]] <- factor(as.character(data[[factor_]]), unlist(case$levels[[factor_]]))
  }
  if (length(case$repeated)) with_nlme(case, data) else with_lmer(case, data)
})
write_json(setNames(fits, names(asked)), file.path(folder, "fits.json"), digits = NA,
           auto_unbox = TRUE, na = "null", null = "null")
