/* SPDX-License-Identifier: MIT
 *
 * correction: a plate current read at slightly wrong voltages, carried to the test point.
 *
 * dIa = gm dVg1 + dVa/rp + gm2 dVg2, the total differential at the point (Radiotron Designer's
 * Handbook, 4th ed., ch. 2).  It is a first-order correction: it is refused where the departure is
 * so large that what it leaves out would matter, and what it may leave out is part of its
 * uncertainty. Only where the grid volts are held; where the plate current was set by the grid
 * there is nothing to correct.
 */
#ifndef QUADRILLE_MEASURE_CORRECTION_H
#define QUADRILLE_MEASURE_CORRECTION_H

#include "base/err.h"

/* A number with its standard uncertainty, 0 or more. */
struct correction_value {
    double value, u;
};

struct correction_input {
    double ia_ma;                         /* as read, above 0 */
    struct correction_value dva_v;        /* volts present less volts of the test point: plate, */
    struct correction_value dvg1_v;       /* grid, */
    struct correction_value dvg2_v;       /* screen; 0 where there is none */
    struct correction_value gm_ma_per_v;  /* of this tube as read, else of the type with a wide u */
    struct correction_value rp_kohm;      /* the same; above 0 unless dva is 0 */
    struct correction_value gm2_ma_per_v; /* screen to plate; 0 where there is none */
};

struct correction {
    double shift_ma; /* to be added to the reading: -dIa */
    double u_ma;     /* standard uncertainty of the shift, the part left out included */
    double share; /* sum of the terms' magnitudes over the reading: how far the voltages were off */
};

/* The largest share taken: at 15 % the three-halves law leaves 0.4 % behind, a third of what one
 * reading repeats within (house rule). */
#define CORRECTION_SHARE_MOST 0.15

/* ERR_INVALID, with the numbers: a share above CORRECTION_SHARE_MOST ("set the voltages and read
 * again"); no plate current; no plate resistance though the plate volts were off; a value that is
 * not finite or an uncertainty below 0. */
MUST_USE bool correction_find(struct correction *out, const struct correction_input *in,
                              struct err *e);

#endif
