/* SPDX-License-Identifier: MIT
 *
 * routes: quadrille routes: the table of routes, printed.
 */
#ifndef QUADRILLE_COMMAND_ROUTES_H
#define QUADRILLE_COMMAND_ROUTES_H

/* argv[0] is "routes".  Exit status: 0, or 2 usage. */
int command_routes(int argc, char **argv);

#endif
