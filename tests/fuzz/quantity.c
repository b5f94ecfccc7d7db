/* SPDX-License-Identifier: MIT
 *
 * quantity under any bytes: the first byte picks the quantity.  What is taken lies within its
 * bounds and prints to something that reads back the same; what is refused names the quantity, says
 * so in well-formed text and leaves the output alone.
 */
#include "measure/quantity.h"
#include "base/text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n);

static void check_taken(const struct quantity *q, const struct quantity_value *v)
{
    assert(v->scaled >= q->least && v->scaled <= q->most);
    assert(v->exact.mantissa == v->typed.mantissa);
    char buf[QUANTITY_PRINT_BYTES];
    quantity_value_print(buf, q, v->scaled);
    struct quantity_value again;
    struct err e = ERR_INIT;
    /* a value near the largest has more digits when printed in full than may be typed */
    if (quantity_value_parse(&again, q, buf, strlen(buf), NULL, &e))
        assert(again.scaled == v->scaled);
    else
        assert(strlen(buf) > DECIMAL_DIGITS);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
    if (n == 0)
        return 0;
    size_t count;
    const struct quantity *q = quantity_builtin(&count);
    q += data[0] % count;
    char *text = malloc(n);
    assert(text);
    memcpy(text, data + 1, n - 1);
    struct quantity_value v = {.scaled = 77};
    struct err e = ERR_INIT;
    if (quantity_value_parse(&v, q, text, n - 1, NULL, &e)) {
        check_taken(q, &v);
    } else {
        assert(strcmp(e.field, q->code) == 0);
        assert(e.code == ERR_INVALID || e.code == ERR_TOO_LARGE);
        assert(text_check(e.text, strlen(e.text), NULL));
        assert(v.scaled == 77);
    }
    free(text);
    return 0;
}
