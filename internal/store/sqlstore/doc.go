// Package sqlstore keeps a campaign in one SQLite file.
//
// # The file
//
// A campaign file is a SQLite database in WAL mode with the application id "HCAT" (0x48434154) and
// the schema version as its user version. While somebody writes there are three more files beside it:
// -wal and -shm, which are SQLite's, and -lock, which the writer holds under an exclusive lock of the
// operating system and which says who it is. They go when the last program closes the file. After a
// kill they stay; the next Open takes them up and loses nothing that was acknowledged.
//
// # One writer, many readers
//
// The lock is on a file of its own because SQLite uses the ranges of the campaign file itself, and
// because closing any descriptor of a file drops all POSIX locks that the process holds on it. For
// the same reason nothing here, and nothing in a program that holds a Store, may open the campaign
// file by other means. The operating system frees the lock when its holder dies, so there is no
// stale lock to break. A writer that finds the lock taken waits for it, 30 s unless its Options say otherwise,
// and then says who has it; what it reads it reads after that, so that reading and then writing is one piece. Readers need no lock: WAL lets them read while the writer writes.
//
// # Reading without permission to write
//
// Where file and folder may be written, a reader opens the file as SQLite wants it and is kept from
// writing by query_only: so it can take up what a killed writer left, and leaves no files behind.
// Where they may not, a file at rest is read as immutable, and a file with a WAL beside it is read
// through SQLite's read-only mode if its -shm is there, or refused with the way out.
package sqlstore
