/* Files of a folder that are replaced as one.
 *
 * The new files lie in new/ of a hidden folder inside the folder. To exchange them for those that
 * stand there:
 *   1. old/ gets a second name (hard link) of every file that stands there, and the link
 *      now -> old is made;
 *   2. every name in the folder becomes a link to now/NAME: whoever opens it reads the old file,
 *      as before;
 *   3. now -> new, by one rename: from here on whoever opens any of the names reads the new file;
 *   4. the files of new/ take the places of the links, links to nothing are removed, and the hidden
 *      folder is removed.
 * So a run that ends at any moment, by whatever cause, leaves a folder in which every name reads
 * old or every name reads new; the next run that writes there brings it to its end
 * (sp_exchange_settle). A name that only one of the sets has is a link to nothing while the other
 * set is read.
 *
 * A file system without links (FAT) gets as near as it allows: the old files are moved to old/,
 * moved/ is made, the new ones are moved to their places. A run that ends between leaves a part of
 * one set, never files of both, and the next run brings back the old set or goes on to the new. */
#ifndef SP_WRITE_EXCHANGE_H
#define SP_WRITE_EXCHANGE_H

#define SP_EXCHANGE_NAME ".strutpress-exchange"

/* Settle what an earlier run left in the folder behind the descriptor `out`, and make the hidden
 * folder: *hidden and *fresh (its new/) get descriptors. Returns 0 or an errno; the descriptors are
 * then -1. */
int sp_exchange_begin(int out, int *hidden, int *fresh);
/* Steps 1 to 3 for these names: those in new/, and those that are to go. Returns 0, or an errno and
 * in *at the name it happened to; then nothing is exchanged, and sp_exchange_settle goes back. */
int sp_exchange_switch(int out, int hidden, int count, const char *const *name, int *at);
/* Do step 4, or go back when step 3 was not reached; do nothing when there is no hidden folder.
 * Returns 0 or an errno. */
int sp_exchange_settle(int out);
/* Make sure that a folder's names are on the disk. Returns 0 or an errno. */
int sp_exchange_sync(int folder);

#endif
