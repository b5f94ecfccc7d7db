/* SPDX-License-Identifier: MIT
 *
 * bulk: 10,000 tubes and 20,000 readings from CSV files, the same files again, and how long a save
 * at the bench waits while such a load is under way.
 */
#ifndef TESTS_BENCH_BULK_H
#define TESTS_BENCH_BULK_H

/* On a daemon and a folder of its own; saves alone are measured for so many seconds. */
void bulk_run(double seconds);

#endif
