/* SPDX-License-Identifier: MIT
 *
 * match: quadrille match: sets from a bare CSV file, without any data folder.
 */
#ifndef QUADRILLE_COMMAND_MATCH_H
#define QUADRILLE_COMMAND_MATCH_H

/* argv[0] is "match".  Exit status: 0 answered, even when no set exists; 1 the data is refused;
 * 2 usage. */
int command_match(int argc, char **argv);

#endif
