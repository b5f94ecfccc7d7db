/* SPDX-License-Identifier: MIT
 *
 * standing: from the repeats of one sitting to the one value that stands, with its uncertainty.
 *
 * The repeats are averaged, shifted to the test point, carried through the tester's calibration,
 * and rounded once, half to even, to the quantity's decimals.  Two standard uncertainties come with
 * it and stay apart: the value's own (independent from tube to tube) and the calibration's (common
 * to all that was read under it, so that it cancels within a set).  JCGM 100:2008 throughout.
 */
#ifndef QUADRILLE_MEASURE_STANDING_H
#define QUADRILLE_MEASURE_STANDING_H

#include "base/decimal.h"
#include "base/err.h"
#include "measure/calibration.h"

#define STANDING_REPEATS    1000 /* the most repeats of a sitting */
#define STANDING_U_DECIMALS 3    /* uncertainties carry this many decimals more than the value */

/* What is known of the tester for this quantity, in the unit of the reading. */
struct standing_tester {
    double resolution;    /* smallest step shown; 0: the last digit typed counts as the step */
    double repeatability; /* standard deviation of one reading that does not depend on size */
    double repeatability_share; /* the same as a share of the reading (0.02 is 2 %); both add in
                                   quadrature; both 0: not known */
};

struct standing_input {
    const struct decimal *repeat; /* the readings that stand (none voided), as struct
                                     quantity_value's exact, in the unit of the reading */
    size_t repeat_count;          /* 1..STANDING_REPEATS */
    int decimals;                 /* of the quantity, 0..9 */
    struct standing_tester tester;
    double shift;   /* the correction to the test point, added to the mean; 0 where none */
    double shift_u; /* its standard uncertainty, from measure/correction.h */
    const struct calibration *calibration; /* NULL: the tester's scale is taken as true */
};

struct standing {
    int64_t value;         /* at decimals */
    int64_t own_u;         /* at decimals + STANDING_U_DECIMALS, rounded up */
    int64_t calibration_u; /* the same; 0 without a calibration */
    double spread;         /* experimental standard deviation of the repeats; 0 for one */
    bool scattered; /* the repeats spread more than the tester's repeatability explains (beyond the
                       99 % point), so their own spread was used: look again */
    bool unproven;  /* one repeat and no known repeatability: own_u holds the resolution only */
    bool stretched; /* the calibration was stretched beyond its check tubes */
};

/* The standing value of one quantity of one section.
 * Own uncertainty, in quadrature (JCGM 100:2008):
 *   repeatability / sqrt(n)        4.2.3; the tester's pooled figure where known (4.2.4), else the
 *                                  repeats' own s, widened for few repeats by t(68.27 %, n-1)
 * (G.3.2) resolution / sqrt(12)          F.2.2.1; common to the repeats, so not divided by sqrt(n)
 *   the correction's uncertainty
 * all multiplied by the calibration's slope.  Without shift and calibration the mean is exact and
 * the rounding is of the exact mean. ERR_INVALID: no repeats, or too many; an uncertainty that is
 * negative or not finite; a calibration whose slope is 0.  ERR_TOO_LARGE: the value or an
 * uncertainty does not fit 10^18. */
MUST_USE bool standing_compute(struct standing *out, const struct standing_input *in,
                               struct err *e);

/* An uncertainty, or a value, of a standing as a double in the quantity's unit. */
double standing_real(int64_t value, int decimals);
double standing_u_real(int64_t u, int decimals);

#endif
