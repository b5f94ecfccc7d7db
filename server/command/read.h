/* SPDX-License-Identifier: MIT
 *
 * read: quadrille read: one tube's readings, section by section, from the command line.
 */
#ifndef QUADRILLE_COMMAND_READ_H
#define QUADRILLE_COMMAND_READ_H

/* argv[0] is "read".  Exit status: 0 kept, 1 refused or questioned, 2 usage. */
int command_read(int argc, char **argv);

#endif
