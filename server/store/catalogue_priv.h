/* SPDX-License-Identifier: MIT
 *
 * catalogue_priv: how the columns of the table type stand to those of lib's table of types.
 * Included by the store's catalogue files only.
 */
#ifndef QUADRILLE_STORE_CATALOGUE_PRIV_H
#define QUADRILLE_STORE_CATALOGUE_PRIV_H

#include "catalogue/catalogue.h"
#include "store/store_priv.h"

/* All but the designation, in the order of enum type_column.  X(column). */
/* clang-format off */
#define TYPE_FACTS(X)                                                                              \
    X(system)                                                                                      \
    X(class)                                                                                       \
    X(sections)                                                                                    \
    X(heater_v)                                                                                    \
    X(heater_a) X(heating) X(base) X(pins) X(top_cap) X(envelope) X(max_va_v) X(max_pa_w)          \
        X(max_vg2_v) X(max_pg2_w) X(max_vhk_v) X(va_v) X(vg2_v) X(vg1_v) X(rk_ohm) X(ia_ma)        \
            X(ig2_ma) X(gm_ma_per_v) X(mu) X(rp_kohm) X(load_kohm) X(po_w) X(section2) X(cyrillic) \
                X(source) X(how) X(found_fields) X(found_where) X(notes)
/* clang-format on */

#define TYPE_NAME(c)     ", " #c
#define TYPE_PARAM(c)    ", :" #c
#define TYPE_SET(c)      #c " = excluded." #c ", "
#define TYPE_OLD(c)      ", type." #c
#define TYPE_EXCLUDED(c) ", excluded." #c

/* ":designation", ":system" ... by enum type_column. */
extern const char *const type_parameters[TYPE__COLUMNS];

/* Bind the facts of a type from texts by enum type_column; "" and NULL bind NULL, but found_fields
 * binds ''. */
void type_bind(struct query *q, const char *const text[TYPE__COLUMNS]);

#endif
