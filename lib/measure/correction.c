/* SPDX-License-Identifier: MIT
 *
 * correction: the differential, its propagated uncertainty, and a bound on what it leaves out.
 *
 * By the three-halves law Ia = K E^1.5 a relative change d of Ia has the second-order part d^2/6:
 * with E off by the share s, d = 1.5 s and the second term of the series is 1.5 * 0.5 / 2 * s^2
 * = 0.375 s^2 = d^2 / 6.  Real tubes bend up to half as much again (the comparisons with a
 * published model in the tests: 0.14 to 0.25 d^2).  So d^2/3 is taken as the half-width of a
 * rectangular distribution (JCGM 100:2008, 4.3.7), with d the sum of the terms' magnitudes: terms
 * of opposite sign cancel in the first order, not in the second.
 */
#include "measure/correction.h"

#include <math.h>

#define LEFT_OUT (1.0 / 3.0) /* of the square of the share: house rule, see above */

static bool value_check(const char *name, const struct correction_value *v, struct err *e)
{
    if (isfinite(v->value) && isfinite(v->u) && v->u >= 0.0)
        return true;
    return err_set(e, ERR_INVALID,
                   "%s must be a number with an uncertainty of 0 or more, but %g and %g came", name,
                   v->value, v->u);
}

static bool input_check(const struct correction_input *in, struct err *e)
{
    if (!isfinite(in->ia_ma) || in->ia_ma <= 0.0)
        return err_set(e, ERR_INVALID,
                       "only a plate current above 0 can be corrected, but %g mA came", in->ia_ma);
    if (!value_check("the plate volts' departure", &in->dva_v, e) ||
        !value_check("the grid volts' departure", &in->dvg1_v, e) ||
        !value_check("the screen volts' departure", &in->dvg2_v, e) ||
        !value_check("the transconductance", &in->gm_ma_per_v, e) ||
        !value_check("the plate resistance", &in->rp_kohm, e) ||
        !value_check("the screen's transconductance", &in->gm2_ma_per_v, e))
        return false;
    bool plate_off = in->dva_v.value != 0.0 || in->dva_v.u > 0.0;
    if (plate_off && in->rp_kohm.value <= 0.0)
        return err_set(e, ERR_INVALID,
                       "the plate volts were off by %g V: the plate resistance is needed, above 0",
                       in->dva_v.value);
    return true;
}

/* Square of the standard uncertainty of a product (JCGM 100:2008, 5.1.2 eq. 10). */
static double product_variance(const struct correction_value *a, const struct correction_value *b)
{
    double first = a->value * b->u, second = b->value * a->u;
    return first * first + second * second;
}

bool correction_find(struct correction *out, const struct correction_input *in, struct err *e)
{
    if (!input_check(in, e))
        return false;
    struct correction_value per_rp = {0}; /* 1/rp in mA/V, which is 1/kohm */
    if (in->rp_kohm.value > 0.0) {
        per_rp.value = 1.0 / in->rp_kohm.value;
        per_rp.u = in->rp_kohm.u * per_rp.value * per_rp.value;
    }
    double grid = in->gm_ma_per_v.value * in->dvg1_v.value;
    double plate = per_rp.value * in->dva_v.value;
    double screen = in->gm2_ma_per_v.value * in->dvg2_v.value;
    double change = grid + plate + screen;
    double share = (fabs(grid) + fabs(plate) + fabs(screen)) / in->ia_ma;
    if (!(share <= CORRECTION_SHARE_MOST))
        return err_set(
            e, ERR_INVALID,
            "the voltages were off by %g V at the plate, %g V at the grid and %g V at the "
            "screen, which moves the plate current by %.0f %%; at most %.0f %% can be "
            "corrected: set the voltages and read again",
            in->dva_v.value, in->dvg1_v.value, in->dvg2_v.value, 100.0 * share,
            100.0 * CORRECTION_SHARE_MOST);
    double left_out = LEFT_OUT * share * share * in->ia_ma / sqrt(3.0);
    double variance = product_variance(&in->gm_ma_per_v, &in->dvg1_v) +
                      product_variance(&per_rp, &in->dva_v) +
                      product_variance(&in->gm2_ma_per_v, &in->dvg2_v) + left_out * left_out;
    *out = (struct correction){.shift_ma = -change, .u_ma = sqrt(variance), .share = share};
    return true;
}
