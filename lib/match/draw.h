/* SPDX-License-Identifier: MIT
 *
 * draw: numbers that look random and are the same every time.
 *
 * SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators",
 * OOPSLA 2014; constants from memory of S. Vigna's public-domain splitmix64.c).
 */
#ifndef QUADRILLE_MATCH_DRAW_H
#define QUADRILLE_MATCH_DRAW_H

#include <stdint.h>

struct draw {
    uint64_t state;
};

static inline uint64_t draw_bits(struct draw *r)
{
    uint64_t z = (r->state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* 0..n-1, n > 0; the unevenness, below n / 2^32, does not matter to a search. */
static inline int draw_below(struct draw *r, int n)
{
    return (int)(((draw_bits(r) >> 32) * (uint64_t)n) >> 32);
}

/* An exponential deviate with mean near 1, in units of 2^-16: -log2 of an even deviate, the
 * logarithm taken as linear between powers of two (off by less than 0.09), times ln 2. */
static inline int64_t draw_exponential(struct draw *r)
{
    uint64_t z = draw_bits(r) | 1;
    int zeros = __builtin_clzll(z);
    uint64_t rest = (z << zeros << 1) >> 48; /* the part behind the leading one */
    int64_t log2 = ((int64_t)(zeros + 1) << 16) - (int64_t)rest;
    return log2 * 45426 >> 16; /* ln 2 = 45426 / 65536 */
}

#endif
