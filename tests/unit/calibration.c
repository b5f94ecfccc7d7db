/* SPDX-License-Identifier: MIT
 *
 * The line itself is held against published fits in york.c; here: that it is the right way round,
 * what it refuses, and two simulations with fixed seeds of the whole way from check tubes to the
 * interval around a standing value, and of drift against the check-tube chart.
 */
#include "measure/calibration.h"

#include "measure/chart.h"
#include "measure/standing.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

static void assert_near(double got, double expected, double tolerance)
{
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.15g came where %.15g was expected", got, expected);
}

static void line_carries_readings_to_true_values(void **state)
{
    (void)state;
    /* by hand: true = 2 + 0.9 reading */
    const struct calibration_pair pair[] = {
        {10, 0.1, 11, 0.1}, {20, 0.1, 20, 0.1}, {30, 0.1, 29, 0.1}, {50, 0.1, 47, 0.1}};
    struct calibration c;
    struct calibration_fit f;
    assert_true(calibration_find(&c, &f, pair, 4, NULL));
    assert_near(c.intercept, 2.0, 1e-12);
    assert_near(c.slope, 0.9, 1e-13);
    assert_near(c.low, 10, 0);
    assert_near(c.high, 50, 0);
    assert_near(f.factor, 1.0, 0.0);
    assert_near(f.p, 1.0, 1e-12);
    struct calibrated v = calibration_apply(&c, 40);
    assert_near(v.value, 38.0, 1e-12);
    assert_false(v.stretched);
    assert_true(calibration_apply(&c, 55).stretched);
    assert_true(calibration_apply(&c, 5).stretched);
    /* least uncertain in the middle of its check tubes */
    assert_true(calibration_apply(&c, 27.5).u < calibration_apply(&c, 10).u);
    assert_true(calibration_apply(&c, 27.5).u < calibration_apply(&c, 50).u);
}

static void scatter_beyond_the_stated_uncertainties_widens_the_line(void **state)
{
    (void)state;
    const struct calibration_pair pair[] = {
        {10, 0.1, 11.5, 0.1}, {20, 0.1, 19.5, 0.1}, {30, 0.1, 29.5, 0.1}, {50, 0.1, 46.5, 0.1}};
    struct calibration c;
    struct calibration_fit f;
    assert_true(calibration_find(&c, &f, pair, 4, NULL));
    assert_true(f.factor > 2.0 && f.p < 0.001);
    assert_near(f.factor, sqrt(f.s / 2.0), 1e-12);
    /* correlation of the two stays that of the fit, below 1 */
    assert_true(fabs(c.covariance) < c.u_intercept * c.u_slope);
}

static void refuses_check_tubes_that_tell_nothing(void **state)
{
    (void)state;
    struct calibration c;
    struct err e = ERR_INIT;
    const struct calibration_pair close[] = {
        {20.0, 0.5, 20.3, 0.5}, {20.1, 0.5, 20.0, 0.5}, {20.2, 0.5, 20.2, 0.5}};
    assert_false(calibration_find(&c, NULL, close, 2, &e));
    assert_non_null(strstr(e.text, "3 to 1000 check tubes, but 2 came"));
    assert_false(calibration_find(&c, NULL, close, 3, &e));
    assert_non_null(strstr(e.text, "do not tell the tester's scale"));
    const struct calibration_pair wrong[] = {
        {10, 0.1, 30, 0.1}, {20, 0.1, 20, 0.1}, {30, 0.1, 10, 0.1}};
    assert_false(calibration_find(&c, NULL, wrong, 3, &e));
    assert_non_null(strstr(e.text, "slope -1"));
}

/* ---- simulations ------------------------------------------------------------------------------
 */

struct dice {
    uint64_t s;
};

/* xorshift64*, Vigna 2016; in [0, 1) */
static double uniform(struct dice *d)
{
    d->s ^= d->s >> 12;
    d->s ^= d->s << 25;
    d->s ^= d->s >> 27;
    return (double)((d->s * 2685821657736338717u) >> 11) * 0x1p-53;
}

/* Box and Muller, 1958 */
static double gauss(struct dice *d)
{
    double u = 1.0 - uniform(d), v = uniform(d);
    return sqrt(-2.0 * log(u)) * cos(2.0 * M_PI * v);
}

#define NOISE 0.02 /* of a reading */
#define GAIN  0.06 /* standard deviation of the hidden gain */
#define STEP  0.01 /* mA, the tester's scale */

struct tester {
    double gain;
    struct calibration line;
};

/* What the tester shows for a true plate current, in hundredths of mA. */
static struct decimal show(const struct tester *t, double true_ma, struct dice *d)
{
    double shown = true_ma * t->gain * (1.0 + NOISE * gauss(d));
    return (struct decimal){(int64_t)nearbyint(shown / STEP), 2};
}

static double real(struct decimal v)
{
    return (double)v.mantissa / 100.0;
}

/* Twelve check tubes over the range, three repeats each, references known to 0.5 %. */
static void tester_calibrate(struct tester *t, struct dice *d)
{
    struct calibration_pair pair[12];
    for (int i = 0; i < 12; i++) {
        double true_ma = 20.0 + 5.0 * i;
        double mean = 0.0;
        for (int k = 0; k < 3; k++)
            mean += real(show(t, true_ma, d)) / 3.0;
        pair[i].reading = mean;
        pair[i].u_reading = hypot(NOISE * mean / sqrt(3.0), STEP / sqrt(12.0));
        pair[i].u_reference = 0.005 * true_ma;
        pair[i].reference = true_ma * (1.0 + 0.005 * gauss(d));
    }
    struct err e = ERR_INIT;
    if (!calibration_find(&t->line, NULL, pair, 12, &e))
        fail_msg("%s", e.text);
}

/* Does the 95 % interval of a tube's standing value hold its true value? */
static bool covered(const struct tester *t, struct dice *d)
{
    double true_ma = 25.0 + 45.0 * uniform(d);
    struct decimal repeat[2] = {show(t, true_ma, d), show(t, true_ma, d)};
    struct standing s;
    struct err e = ERR_INIT;
    if (!standing_compute(
            &s,
            &(struct standing_input){.repeat = repeat,
                                     .repeat_count = 2,
                                     .decimals = 3,
                                     .tester = {.resolution = STEP, .repeatability_share = NOISE},
                                     .calibration = &t->line},
            &e))
        fail_msg("%s", e.text);
    double u = hypot(standing_u_real(s.own_u, 3), standing_u_real(s.calibration_u, 3));
    return fabs(standing_real(s.value, 3) - true_ma) <= 1.959963984540054 * u;
}

static void intervals_of_200_calibrated_testers_cover_95_percent(void **state)
{
    (void)state;
    struct dice d = {.s = 20240617};
    int inside = 0, uncalibrated = 0;
    for (int i = 0; i < 200; i++) {
        struct tester t = {.gain = 1.0 + GAIN * gauss(&d)};
        tester_calibrate(&t, &d);
        for (int k = 0; k < 300; k++)
            inside += covered(&t, &d);
        uncalibrated += fabs(t.gain - 1.0) > 1.96 * NOISE / sqrt(2.0);
    }
    double coverage = inside / (200.0 * 300.0);
    print_message("pooled coverage of the 95 %% intervals: %.2f %%\n", 100.0 * coverage);
    assert_true(coverage >= 0.93 && coverage <= 0.97);
    assert_true(uncalibrated > 100); /* without calibration most testers would be plainly wrong */
}

/* One check: the mean of three check tubes' readings over their reference values. */
static double check(double gain, struct dice *d)
{
    double sum = 0.0;
    for (int i = 0; i < 3; i++)
        sum += gain * (1.0 + NOISE * gauss(d));
    return sum / 3.0;
}

#define BASELINE 20 /* checks of the sound tester */
#define QUIET    20 /* checks without drift, for the false alarms */

static void drift_of_3_percent_is_flagged_within_5_checks(void **state)
{
    (void)state;
    struct dice d = {.s = 4711};
    int found = 0, false_alarms = 0, quiet_runs = 0;
    for (int run = 0; run < 1000; run++) {
        double gain = 1.0 + GAIN * gauss(&d), x[BASELINE];
        struct chart_point p[QUIET];
        struct chart c;
        for (int i = 0; i < BASELINE; i++)
            x[i] = check(gain, &d);
        assert_true(chart_baseline(&c, x, BASELINE, NULL));
        for (int i = 0; i < QUIET; i++)
            x[i] = check(gain, &d);
        chart_follow(p, &c, x, QUIET, CHART_LAMBDA, CHART_WIDTH);
        bool any = false;
        for (int i = 0; i < QUIET; i++) {
            false_alarms += p[i].signals != 0;
            any = any || p[i].signals != 0;
        }
        quiet_runs += !any;
        double drifted = gain * (run % 2 == 0 ? 1.03 : 0.97);
        for (int i = 0; i < 5; i++)
            x[i] = check(drifted, &d);
        chart_follow(p, &c, x, 5, CHART_LAMBDA, CHART_WIDTH);
        any = false;
        for (int i = 0; i < 5; i++)
            any = any || p[i].signals != 0;
        found += any;
    }
    print_message(
        "drift of 3 %% flagged within 5 checks in %d of 1000 runs; false alarms at %.2f %% "
        "of checks, %d of 1000 runs of %d checks without any\n",
        found, 100.0 * false_alarms / (1000.0 * QUIET), quiet_runs, QUIET);
    assert_true(found >= 950);
    assert_true(false_alarms < 0.04 * 1000 * QUIET);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(line_carries_readings_to_true_values),
        cmocka_unit_test(scatter_beyond_the_stated_uncertainties_widens_the_line),
        cmocka_unit_test(refuses_check_tubes_that_tell_nothing),
        cmocka_unit_test(intervals_of_200_calibrated_testers_cover_95_percent),
        cmocka_unit_test(drift_of_3_percent_is_flagged_within_5_checks),
    };
    return cmocka_run_group_tests_name("calibration", tests, NULL, NULL);
}
