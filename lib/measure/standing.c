/* SPDX-License-Identifier: MIT
 *
 * standing: mean, shift, calibration, one rounding; and the uncertainties of each step.
 *
 * As long as neither a shift nor a calibration takes part the mean stays an exact fraction: the
 * repeats are brought to one power of ten, summed in 128 bits and divided once.  Otherwise the sum
 * goes through double, whose 53 bits leave an error far below the rounding of any declared
 * decimals.
 */
#include "measure/standing.h"

#include "measure/sampling.h"

#include <assert.h>
#include <math.h>

#define FITS 1e18 /* the largest magnitude of a stored value, as decimal_scale has it */

/* house rule: repeats that a sound tester would show in 1 sitting of 100 are worth a second look */
#define SCATTER_P 0.01

/* P(|Z| <= 1): the coverage of one standard uncertainty, JCGM 100:2008 table G.1 */
#define ONE_SIGMA 0.68268949213708590

__extension__ typedef __int128 wide;

static double power_of_ten(int exponent)
{
    double p = 1.0;
    for (int i = 0; i < (exponent < 0 ? -exponent : exponent); i++)
        p *= 10.0;
    return exponent < 0 ? 1.0 / p : p;
}

static double decimal_real(struct decimal d)
{
    /* mantissa and power are exact below 2^53 and 10^22, so one operation rounds once */
    if (d.decimals >= 0)
        return (double)d.mantissa / power_of_ten(d.decimals);
    return (double)d.mantissa * power_of_ten(-d.decimals);
}

double standing_real(int64_t value, int decimals)
{
    return decimal_real((struct decimal){value, decimals});
}

double standing_u_real(int64_t u, int decimals)
{
    return standing_real(u, decimals + STANDING_U_DECIMALS);
}

/* sum / divisor, half to even; divisor > 0. */
static wide divide_half_even(wide sum, wide divisor)
{
    wide quotient = sum / divisor;
    wide rest = sum % divisor;
    wide magnitude = rest < 0 ? -rest : rest;
    wide other = divisor - magnitude;
    if (magnitude > other || (magnitude == other && quotient % 2 != 0))
        quotient += sum < 0 ? -1 : 1;
    return quotient;
}

/* The exact mean at the given decimals; false when it does not fit. */
static bool mean_exact(int64_t *out, const struct decimal *repeat, size_t count, int decimals)
{
    int finest = decimals;
    for (size_t i = 0; i < count; i++)
        if (repeat[i].decimals > finest)
            finest = repeat[i].decimals;
    const wide limit = (wide)1 << 110;
    wide sum = 0;
    for (size_t i = 0; i < count; i++) {
        wide term = repeat[i].mantissa;
        for (int k = repeat[i].decimals; k < finest && term != 0; k++) {
            term *= 10;
            if (term > limit || term < -limit)
                return false;
        }
        sum += term;
    }
    wide divisor = (wide)(int64_t)count;
    for (int k = decimals; k < finest; k++)
        divisor *= 10;
    wide mean = divide_half_even(sum, divisor);
    if (mean > (wide)1000000000000000000 || mean < -(wide)1000000000000000000)
        return false;
    *out = (int64_t)mean;
    return true;
}

/* Two passes, so that a small spread on a large mean is not lost. */
static double mean_and_spread(const struct decimal *repeat, size_t count, double *spread)
{
    double sum = 0.0, squares = 0.0, n = (double)count;
    for (size_t i = 0; i < count; i++)
        sum += decimal_real(repeat[i]);
    double mean = sum / n;
    for (size_t i = 0; i < count; i++) {
        double d = decimal_real(repeat[i]) - mean;
        squares += d * d;
    }
    *spread = count > 1 ? sqrt(squares / (n - 1.0)) : 0.0;
    return mean;
}

/* The step the display moved by: as stated, else the coarsest last digit typed. */
static double step_of(const struct standing_input *in)
{
    if (in->tester.resolution > 0.0)
        return in->tester.resolution;
    int coarsest = in->repeat[0].decimals;
    for (size_t i = 1; i < in->repeat_count; i++)
        if (in->repeat[i].decimals < coarsest)
            coarsest = in->repeat[i].decimals;
    return power_of_ten(-coarsest);
}

/* The standard uncertainty of the mean from the spread of its own n >= 2 repeats: few repeats know
 * their spread badly (JCGM 100:2008 G.3.2). */
static double own_repeat_u(const struct standing *s, double n)
{
    return s->spread / sqrt(n) * sampling_t_factor(ONE_SIGMA, n - 1.0);
}

/* The same from what is known of the tester, where anything is. */
static double repeat_u(struct standing *out, const struct standing_input *in, double mean)
{
    double n = (double)in->repeat_count;
    double known = hypot(in->tester.repeatability, in->tester.repeatability_share * mean);
    bool several = in->repeat_count > 1;
    if (known <= 0.0) {
        out->unproven = !several;
        return several ? own_repeat_u(out, n) : 0.0;
    }
    double ratio = out->spread / known, pooled = known / sqrt(n);
    out->scattered = several && sampling_chi2_above(ratio * ratio * (n - 1.0), n - 1.0) < SCATTER_P;
    return out->scattered ? fmax(own_repeat_u(out, n), pooled) : pooled;
}

static bool input_check(const struct standing_input *in, struct err *e)
{
    if (in->repeat_count == 0 || in->repeat_count > STANDING_REPEATS)
        return err_set(e, ERR_INVALID,
                       "a standing value needs 1 to %d readings of one sitting, but %zu came",
                       STANDING_REPEATS, in->repeat_count);
    const double u[] = {in->tester.resolution, in->tester.repeatability,
                        in->tester.repeatability_share, in->shift_u};
    for (size_t i = 0; i < ARRAY_LEN(u); i++)
        if (!isfinite(u[i]) || u[i] < 0.0)
            return err_set(
                e, ERR_INVALID,
                "resolution, repeatability and the correction's uncertainty must be 0 or "
                "more, but one is %g",
                u[i]);
    if (!isfinite(in->shift))
        return err_set(e, ERR_INVALID, "the correction to the test point is not a number");
    const struct calibration *c = in->calibration;
    if (c != NULL && (!isfinite(c->intercept) || !isfinite(c->slope) || c->slope == 0.0))
        return err_set(e, ERR_INVALID,
                       "a calibration needs a slope other than 0, but %g + %g * reading came",
                       c->intercept, c->slope);
    return true;
}

static bool uncertainty_scale(int64_t *out, double u, int decimals, struct err *e)
{
    double scaled = u * power_of_ten(decimals + STANDING_U_DECIMALS);
    if (!(scaled < FITS))
        return err_set(e, ERR_TOO_LARGE, "an uncertainty of %g is too large to be kept", u);
    *out = (int64_t)ceil(scaled - 1e-6); /* not a whole step more for the noise of double */
    return true;
}

bool standing_compute(struct standing *out, const struct standing_input *in, struct err *e)
{
    assert(in->decimals >= 0 && in->decimals <= 9);
    if (!input_check(in, e))
        return false;

    /* a scale taken as true is the line that changes nothing */
    static const struct calibration as_read = {.slope = 1.0, .low = -INFINITY, .high = INFINITY};
    struct standing s = {0};
    double reading = mean_and_spread(in->repeat, in->repeat_count, &s.spread);
    double u = repeat_u(&s, in, reading);
    double step_u = step_of(in) / sqrt(12.0); /* JCGM 100:2008 F.2.2.1 */
    const struct calibration *c = in->calibration != NULL ? in->calibration : &as_read;
    struct calibrated line = calibration_apply(c, reading + in->shift);
    s.stretched = line.stretched;
    if (in->calibration == NULL && in->shift == 0.0) {
        if (!mean_exact(&s.value, in->repeat, in->repeat_count, in->decimals))
            return err_set(e, ERR_TOO_LARGE, "a value of %g is too large to be kept", line.value);
    } else {
        double scaled = line.value * power_of_ten(in->decimals);
        if (!(fabs(scaled) < FITS))
            return err_set(e, ERR_TOO_LARGE, "a value of %g is too large to be kept", line.value);
        s.value = (int64_t)nearbyint(scaled); /* the default rounding of C is half to even */
    }
    double own = line.slope * sqrt(u * u + step_u * step_u + in->shift_u * in->shift_u);
    if (!uncertainty_scale(&s.own_u, own, in->decimals, e) ||
        !uncertainty_scale(&s.calibration_u, line.u, in->decimals, e))
        return false;
    *out = s;
    return true;
}
