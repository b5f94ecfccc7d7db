/* SPDX-License-Identifier: MIT
 *
 * backup: quadrille backup: a verified copy of the database in a file.
 */
#ifndef QUADRILLE_COMMAND_BACKUP_H
#define QUADRILLE_COMMAND_BACKUP_H

/* argv[0] is "backup".  Exit status: 0 the copy is whole and on the disk, 1 there is none, 2 usage.
 */
int command_backup(int argc, char **argv);

#endif
