/* SPDX-License-Identifier: MIT
 *
 * serve: quadrille serve: the daemon.
 */
#ifndef QUADRILLE_COMMAND_SERVE_H
#define QUADRILLE_COMMAND_SERVE_H

/* argv[0] is "serve".  Exit status: 0 stopped as asked, 1 could not start, 2 usage. */
int command_serve(int argc, char **argv);

#endif
