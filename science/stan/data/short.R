lift_name <- c("bench-press")
N <- 26
S <- 6
L <- 1
E <- 1
V <- 6
P <- 0
day <- structure(c(0L, 3L, 7L, 10L, 14L, 17L), .Dim = c(6L))
in_session <- structure(c(1L, 1L, 1L, 1L, 1L, 1L), .Dim = c(6L, 1L))
exercise_of <- structure(c(1L), .Dim = c(1L))
class_of <- structure(c(1L), .Dim = c(1L))
shape_of_exercise <- structure(c(1), .Dim = c(1L))
overlap <- structure(c(1), .Dim = c(1L, 1L))
visit_lift <- structure(c(1L, 1L, 1L, 1L, 1L, 1L), .Dim = c(6L))
visit_session <- structure(c(1L, 2L, 3L, 4L, 5L, 6L), .Dim = c(6L))
visit_number <- structure(c(1L, 2L, 3L, 4L, 5L, 6L), .Dim = c(6L))
visit_days <- structure(c(0, 3, 4, 3, 4, 3), .Dim = c(6L))
visit_excess <- structure(c(0, 0, 0, 0, 0, 0), .Dim = c(6L))
visit_absent <- structure(c(0, 0, 0, 0, 0, 0), .Dim = c(6L))
first_absent <- structure(c(0), .Dim = c(1L))
practice_of <- structure(c(0L, 0L, 0L, 0L, 0L, 0L), .Dim = c(6L))
practice_share <- structure(c(0, 0, 0, 0, 0, 0), .Dim = c(6L))
session <- structure(c(1L, 1L, 1L, 1L, 1L, 1L, 2L, 2L, 2L, 2L, 3L, 3L, 3L, 3L, 4L, 4L, 4L, 4L, 5L, 5L, 5L, 5L, 6L, 6L, 6L, 6L
), .Dim = c(26L))
lift <- structure(c(1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L
), .Dim = c(26L))
visit <- structure(c(1L, 1L, 1L, 1L, 1L, 1L, 2L, 2L, 2L, 2L, 3L, 3L, 3L, 3L, 4L, 4L, 4L, 4L, 5L, 5L, 5L, 5L, 6L, 6L, 6L, 6L
), .Dim = c(26L))
log_load <- structure(c(3.4812400893356918, 3.6888794541139363, 3.912023005428146, 3.912023005428146, 3.912023005428146, 3.912023005428146
, 3.2188758248682006, 3.912023005428146, 3.912023005428146, 3.912023005428146, 3.2188758248682006, 3.912023005428146
, 3.912023005428146, 3.912023005428146, 3.2188758248682006, 3.912023005428146, 3.912023005428146, 3.912023005428146
, 3.2188758248682006, 3.912023005428146, 3.912023005428146, 3.912023005428146, 3.2188758248682006, 3.912023005428146
, 3.912023005428146, 3.912023005428146), .Dim = c(26L))
reps <- structure(c(5L, 5L, 5L, 6L, 6L, 6L, 6L, 7L, 7L, 7L, 6L, 7L, 7L, 6L, 6L, 7L, 7L, 7L, 6L, 8L, 8L, 8L, 6L, 9L, 8L, 8L
), .Dim = c(26L))
failed <- structure(c(0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L
), .Dim = c(26L))
unknown <- structure(c(0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L
), .Dim = c(26L))
informs <- structure(c(1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L
), .Dim = c(26L))
rest <- structure(c(0, 1.25, 1.5, 2.4166666666666665, 3.4166666666666665, 2.8333333333333335, 0, 3.5833333333333335, 3.8333333333333335
, 2.4166666666666665, 0, 3, 3.4166666666666665, 2.6666666666666665, 0, 3.1666666666666665, 2.6666666666666665
, 2.6666666666666665, 0, 2.8333333333333335, 3, 2.8333333333333335, 0, 2.75, 3, 3.25), .Dim = c(26L))
rest_known <- structure(c(1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L, 1L
), .Dim = c(26L))
has_feeling <- structure(c(1L, 1L, 1L, 1L, 1L, 1L, 0L, 1L, 1L, 1L, 0L, 1L, 1L, 1L, 0L, 1L, 1L, 1L, 0L, 1L, 1L, 1L, 0L, 1L, 1L, 1L
), .Dim = c(26L))
feeling <- structure(c(1, 1, 1, 1, 1, 1, 0, 1, 1, 0, 0, 1, 0, 1, 0, 1, 1, 1, 0, 1, 1, 1, 0, 0, 1, 1, 4.5, 4.5, 2.5, 1.5, 4.5
, 3.5, 0, 1.5, 1.5, 0, 0, 1.5, 0, 4.5, 0, 3.5, 2.5, 4.5, 0, 3.5, 4.5, 3.5, 0, 0, 0.5, 0.5, 0, 0, 0, 0
, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0, 1, 1, 0, 0, 1, 1, 0
, 0, 1, 0, 1, 0, 1, 1, 1, 0, 0, 3.5, 2.5, 0, 4.5, 0, 2.5, 2.5, 0.5, 0, 2.5, 0.5, 0, 0, 4.5, 3.5, 0, 0
, 4.5, 0, 4.5, 0, 0.5, 1.5, 1.5, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0), .Dim = c(26L, 12L))
has_speed <- structure(c(0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L
), .Dim = c(26L))
speed <- structure(c(0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0), .Dim = c(26L))
first_start <- structure(c(4.1673358396757472), .Dim = c(1L))
usual_reps <- structure(c(7.1333333333333337), .Dim = c(1L))
usual_heard <- structure(c(2.2333333333333334), .Dim = c(1L))
usual_on_cue <- structure(c(0L), .Dim = c(1L))
usual_unknown <- structure(c(0L), .Dim = c(1L))
shared_mean <- structure(c(4.4371354083876389, -0.77652878949899629, -1.2378743560016174, 0.40546510810816438, -0.84729786038720356
, -4.4506992274635673, 0.80000000000000004, -0.25, -0.51082562376599072, -1.8971199848858813, 0.20000000000000001
, -7.1799152723599988), .Dim = c(12L))
shared_sd <- structure(c(0.34999999999999998, 0.5, 0.5, 0.5, 0.94999999999999996, 0.83255461115769769, 0.80000000000000004, 0.29999999999999999
, 0.29999999999999999, 0.40000000000000002, 0.40000000000000002, 0.48948168789776775), .Dim = c(12L))
stopping_mean <- structure(c(0.91629073187415511, 0.91629073187415511, 0.91629073187415511), .Dim = c(3L))
stopping_sd <- structure(c(0.5, 0.5, 0.5), .Dim = c(3L))
endurance_mean <- structure(c(3.4657359027997265), .Dim = c(1L))
endurance_sd <- structure(c(0.22), .Dim = c(1L))
ratio_mean <- structure(c(0), .Dim = c(1L))
ratio_sd <- structure(c(0.14999999999999999), .Dim = c(1L))
alike_mean <- structure(c(4.2174129506540172), .Dim = c(1L))
alike_sd <- structure(c(0.38078865529319539), .Dim = c(1L))
general_alike_mean <- 4.2174129506540172
general_alike_sd <- 0.34999999999999998
scale_mean <- structure(c(-3.6888794541139363, -5.521460917862246, -4.4228486291941369), .Dim = c(3L))
scale_sd <- structure(c(0.25, 0.5, 0.40000000000000002), .Dim = c(3L))
speed_mean <- structure(c(0.16, -3.3524072174927233, -3.2188758248682006), .Dim = c(1L, 3L))
speed_sd <- structure(c(0.040000000000000001, 0.40000000000000002, 0.40000000000000002), .Dim = c(1L, 3L))
practice_mean <- 0.050000000000000003
practice_sd <- 0.040000000000000001
trend_mean <- 0.00027777777777777778
trend_sd <- 0.00051111111111111116
trend_half_life <- 60
tau_slow <- 4.7000000000000002
rho_f <- 0.68000000000000005
minutes_per_rep <- 0.050000000000000003
residual_decay <- 1
residual_gone <- 3
lay_off_drift_factor <- 2
absence_loss_days <- 180
absence_memory <- 0.5
absence_memory_days <- 1100
log_rest_sd <- 0.40000000000000002
sigma_outside_range <- 1.5
outlier <- 9.9999999999999995e-07
