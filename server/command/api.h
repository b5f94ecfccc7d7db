/* SPDX-License-Identifier: MIT
 *
 * api: quadrille api: one call of the API as it is, for scripts and for what has no command.
 */
#ifndef QUADRILLE_COMMAND_API_H
#define QUADRILLE_COMMAND_API_H

/* argv[0] is "api".  Prints the answers' bodies.  Exit status: 0 done, 1 refused, 2 usage. */
int command_api(int argc, char **argv);

#endif
