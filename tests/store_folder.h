/* This makes a folder of stores for one test program. */
#ifndef TESTS_STORE_FOLDER_H
#define TESTS_STORE_FOLDER_H

extern char store_folder[64];

/* These are the group setup and teardown for cmocka. */
int make_store_folder(void **state);
int remove_store_folder(void **state);

const char *in_folder(const char *name); /* stays valid for four calls */
char *dump_of(const char *file);         /* every figure of a store; freed with free */
/* Run SQL on a store without the program. */
void change_store(const char *file, const char *sql);

#endif
