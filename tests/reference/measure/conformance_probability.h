/* SPDX-License-Identifier: MIT
 *
 * Probability that a true value lies within its limits.
 * jcgm106: JCGM 106:2012 7.3, 7.4 (printed figure from memory); sandia: sandialabs/suncal
 * test/test_risk.py (found); grid: computed with scipy 1.10.1.  printed 0: none.
 */
static const struct {
    const char *id;
    double y, u, low, high, printed, p;
} conformance_case[] = {
    {"jcgm106_7.3.3_zener", -5.47, 0.05, -INFINITY, -5.4, 0.92, 0.919243340766},
    {"jcgm106_7.3.3_container", 509.7, 8.6, 490, INFINITY, 0.99, 0.989009547385},
    {"jcgm106_7.4_motor_oil", 13.6, 1.8, 12.5, 16.3, 0.66, 0.662629786495},
    {"sandia_1", 10, 0.4, 9, 11, 0.98758, 0.987580669348},
    {"sandia_2", 10.5, 0.4, 9, 11, 0.89426, 0.894261809048},
    {"sandia_3", 12.0, 0.4, 9, 11, 0.00621, 0.00620966532574},
    {"grid_1", 0, 1, -INFINITY, 0, 0, 0.5},
    {"grid_2", 0, 1, -INFINITY, 1, 0, 0.841344746069},
    {"grid_3", 0, 1, -INFINITY, 1.6448536269514722, 0, 0.95},
    {"grid_4", 0, 1, -INFINITY, 2, 0, 0.977249868052},
    {"grid_5", 50.0, 1.2, 45, 55, 0, 0.999969091406},
    {"grid_6", 53.6, 1.2, 45, 55, 0, 0.878327495425},
    {"grid_7", 55.0, 1.2, 45, 55, 0, 0.5},
    {"grid_8", 4.95, 0.25, 4.0, 6.0, 0, 0.999914306207},
};
