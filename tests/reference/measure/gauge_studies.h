/* SPDX-License-Identifier: MIT
 *
 * Crossed gauge studies: value[part][appraiser][trial], flattened in that order.
 * aiag: Automotive Industry Action Group, Measurement Systems Analysis, 4th ed. 2010, ch. III sec.
 * B (data found identical in three public test files). helicopter: Cano, Moguerza, Redchuk, Six
 * Sigma with R, Springer 2012; cran/SixSigma ss.data.rr. vignette: T. Roth, R package qualityTools,
 * vignette. paper: Vardeman and VanValkenburg, Technometrics 41 (1999) 202-211. strong: made for
 * this project with R 4.2.2, a real interaction; no publication.
 */
/* 10 parts, 3 appraisers, 3 trials */
static const double gauge_aiag[] = {
    0.29,  0.41,  0.64,  0.08,  0.25,  0.07,  0.04,  -0.11, -0.15, -0.56, -0.68, -0.58, -0.47,
    -1.22, -0.68, -1.38, -1.13, -0.96, 1.34,  1.17,  1.27,  1.19,  0.94,  1.34,  0.88,  1.09,
    0.67,  0.47,  0.5,   0.64,  0.01,  1.03,  0.2,   0.14,  0.2,   0.11,  -0.8,  -0.92, -0.84,
    -0.56, -1.2,  -1.28, -1.46, -1.07, -1.45, 0.02,  -0.11, -0.21, -0.2,  0.22,  0.06,  -0.29,
    -0.67, -0.49, 0.59,  0.75,  0.66,  0.47,  0.55,  0.83,  0.02,  0.01,  0.21,  -0.31, -0.2,
    -0.17, -0.63, 0.08,  -0.34, -0.46, -0.56, -0.49, 2.26,  1.99,  2.01,  1.8,   2.12,  2.19,
    1.77,  1.45,  1.87,  -1.36, -1.25, -1.31, -1.68, -1.62, -1.5,  -1.49, -1.77, -2.16};
/* 3 parts, 3 appraisers, 3 trials */
static const double gauge_helicopter[] = {1.27, 0.9,  1.09, 1.34, 1.32, 1.27, 1.09, 1.26, 1.09,
                                          1.12, 1.09, 1.15, 1.24, 1.0,  1.14, 1.48, 1.15, 1.15,
                                          1.73, 1.28, 1.77, 1.64, 1.65, 1.77, 1.64, 1.44, 1.68};
/* 10 parts, 3 appraisers, 2 trials */
static const double gauge_vignette[] = {
    23.0, 20.0, 22.0, 20.0, 22.0, 25.0, 22.0, 24.0, 22.0, 22.0, 25.0, 24.0, 23.0, 21.0, 22.0,
    20.0, 23.0, 21.0, 22.0, 22.0, 20.0, 21.0, 22.0, 22.0, 22.0, 21.0, 22.0, 21.0, 24.0, 24.0,
    25.0, 27.0, 27.0, 25.0, 28.0, 27.0, 23.0, 23.0, 24.0, 22.0, 23.0, 25.0, 24.0, 23.0, 24.0,
    23.0, 22.0, 22.0, 22.0, 22.0, 22.0, 23.0, 24.0, 25.0, 23.0, 21.0, 22.0, 24.0, 24.0, 23.0};
/* 2 parts, 5 appraisers, 3 trials */
static const double gauge_paper[] = {3.481, 3.477, 3.47,  3.448, 3.472, 3.47,  3.485, 3.464,
                                     3.477, 3.475, 3.472, 3.473, 3.472, 3.47,  3.474, 3.258,
                                     3.254, 3.258, 3.254, 3.247, 3.239, 3.256, 3.257, 3.245,
                                     3.249, 3.238, 3.24,  3.241, 3.25,  3.254};
/* 8 parts, 3 appraisers, 2 trials */
static const double gauge_strong[] = {
    -1.98, -1.86, -1.51, -1.26, -2.26, -2.25, -0.22, -0.37, -0.99, -1.1, -1.55, -1.33,
    -0.75, -0.53, -0.41, -0.31, -0.33, -0.22, -0.46, -0.17, 0.09,  0.28, 0.12,  -0.16,
    -0.08, -0.06, 0.89,  0.65,  -0.5,  -0.35, 0.6,   0.56,  1.16,  1.45, 0.87,  0.87,
    1.94,  2.1,   1.77,  1.78,  1.39,  1.7,   2.63,  2.86,  2.71,  2.93, 2.04,  2.28};
