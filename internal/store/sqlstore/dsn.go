package sqlstore

import (
	"database/sql"
	"database/sql/driver"
	"net/url"
	"path/filepath"
	"strings"

	_ "modernc.org/sqlite" // the driver "sqlite"
)

// busyTimeout is how long SQLite waits for another connection's lock, in ms: as long as a writer waits for another.
const busyTimeout = "busy_timeout(30000)"

// writerPragmas make a commit durable: WAL with a sync at each commit, the full one of macOS included.
var writerPragmas = []string{busyTimeout, "synchronous(full)", "fullfsync(1)", "checkpoint_fullfsync(1)", "foreign_keys(1)", "trusted_schema(0)", "cell_size_check(1)"}

// readerPragmas keep a connection from writing.
var readerPragmas = []string{busyTimeout, "query_only(1)", "trusted_schema(0)", "cell_size_check(1)"}

// open opens path through SQLite's URI file names. mode is mode=rw, mode=rwc, mode=ro or immutable=1.
func openDB(path, mode string, pragmas []string, conns int) (*sql.DB, error) {
	dsn := fileURI(path) + "?" + mode
	for _, p := range pragmas {
		dsn += "&_pragma=" + url.QueryEscape(p)
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(conns)
	db.SetMaxIdleConns(conns)
	return db, nil
}

// fileURI escapes an absolute path as https://www.sqlite.org/uri.html wants it; a drive letter gets a
// slash before it.
func fileURI(path string) string {
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	return "file://" + (&url.URL{Path: p}).EscapedPath()
}

// discard makes database/sql drop the connection behind conn.
func discard(conn *sql.Conn) {
	_ = conn.Raw(func(any) error { return driver.ErrBadConn })
}
