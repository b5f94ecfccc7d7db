/* SPDX-License-Identifier: MIT
 *
 * embed: packs files into the executable.  A program of the build, not part of the daemon.
 *
 *     sha256sum FILE... | embed > packed.c
 *
 * Each line read is "hash  path".  The C file written names every path with its hash and takes the
 * bytes in by the assembler's .incbin, which is as quick for a megabyte as for a line; so it must
 * be compiled from the folder in which the paths hold.  Each file gets a zero byte after its end,
 * so that texts may be used as strings.  The rows are sorted by name: packed.c searches them by
 * halves.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST       1000
#define HASH_CHARS 64

struct file {
    char hash[HASH_CHARS + 1];
    char path[400];
};

static struct file file[MOST];

static int by_path(const void *a, const void *b)
{
    return strcmp(((const struct file *)a)->path, ((const struct file *)b)->path);
}

static int fail(const char *what, const char *line)
{
    fprintf(stderr, "embed: %s: %s\n", what, line);
    return 1;
}

static void write_bytes(int n)
{
    for (int i = 0; i < n; i++)
        printf("__asm__(\".section .rodata\\n\"\n"
               "        \"quadrille_packed_%d: .incbin \\\"%s\\\"\\n\"\n"
               "        \"quadrille_packed_%d_end: .byte 0\\n.previous\\n\");\n"
               "extern const unsigned char quadrille_packed_%d[], quadrille_packed_%d_end[];\n",
               i, file[i].path, i, i, i);
}

static void write_rows(int n)
{
    puts("\nconst struct packed_row packed_rows[] = {");
    for (int i = 0; i < n; i++)
        printf("    { \"%s\", quadrille_packed_%d, quadrille_packed_%d_end, \"%s\" },\n",
               file[i].path, i, i, file[i].hash);
    puts("    { 0, 0, 0, 0 },\n};");
    printf("const int packed_count = %d;\n", n);
}

int main(void)
{
    char line[600];
    int n = 0;
    while (fgets(line, sizeof line, stdin)) {
        line[strcspn(line, "\n")] = '\0';
        if (n == MOST)
            return fail("more files than the table holds", line);
        if (sscanf(line, "%64[0-9a-f] %399s", file[n].hash, file[n].path) != 2 ||
            strlen(file[n].hash) != HASH_CHARS || strpbrk(line, "\\\""))
            return fail("not a line of sha256sum with a plain path", line);
        n++;
    }
    qsort(file, (size_t)n, sizeof file[0], by_path);
    puts("/* Made by server/work/embed.c; do not edit. */\n#include \"work/packed.h\"\n");
    write_bytes(n);
    write_rows(n);
    return ferror(stdout) || fflush(stdout) ? fail("cannot write", "standard output") : 0;
}
