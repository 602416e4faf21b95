package sqlstore

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"sync"
)

//go:embed schema/*.sql
var schemaFiles embed.FS

// applicationID marks the file as a campaign: "HCAT".
const applicationID = 0x48434154

// schema is the list of migrations; migration i leads from version i to version i+1.
type schema struct {
	steps []string
	// fresh is what a new file of this schema has, found out once.
	fresh func() ([]object, error)
}

func newSchema(steps []string) schema {
	s := schema{steps: steps}
	s.fresh = sync.OnceValues(func() ([]object, error) { return freshObjects(schema{steps: steps}) })
	return s
}

// currentSchema is the embedded migrations.
var currentSchema = sync.OnceValues(func() (schema, error) {
	sub, err := fs.Sub(schemaFiles, "schema")
	if err != nil {
		return schema{}, fmt.Errorf("schema: %w", err)
	}
	return readSchema(sub)
})

// readSchema reads 0001_name.sql, 0002_name.sql, ... without a gap.
func readSchema(files fs.FS) (schema, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return schema{}, fmt.Errorf("schema: %w", err)
	}
	var steps []string
	for i, name := range names {
		number, _, _ := strings.Cut(name, "_")
		if n, err := strconv.Atoi(number); err != nil || n != i+1 {
			return schema{}, fmt.Errorf("schema: %s stands where number %04d is due; number the files without a gap", name, i+1)
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return schema{}, fmt.Errorf("schema: %w", err)
		}
		steps = append(steps, string(text))
	}
	return newSchema(steps), nil
}

// at is the schema as it was at an earlier version.
func (s schema) at(version int) (schema, error) {
	if version < 1 || version > s.version() {
		return schema{}, fmt.Errorf("schema: there is no version %d", version)
	}
	if version == s.version() {
		return s, nil
	}
	return newSchema(s.steps[:version:version]), nil
}

// version is the version that the migrations lead to.
func (s schema) version() int { return len(s.steps) }

// migrate brings an open file from its version to that of s, each step in a transaction.
func (s schema) migrate(ctx context.Context, conn *sql.Conn) error {
	var from int
	if err := conn.QueryRowContext(ctx, "PRAGMA user_version").Scan(&from); err != nil {
		return fmt.Errorf("reading the schema version: %w", err)
	}
	for v := from; v < s.version(); v++ {
		err := inTransaction(ctx, conn, "BEGIN IMMEDIATE", func() error {
			if _, err := conn.ExecContext(ctx, s.steps[v]); err != nil {
				return err
			}
			_, err := conn.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, v+1))
			return err
		})
		if err != nil {
			return fmt.Errorf("bringing the file from schema %d to %d: %w", v, v+1, err)
		}
	}
	return nil
}

// inTransaction runs fn between begin and COMMIT on conn, or rolls back. The statements are sent by
// hand because database/sql takes a transaction for ended when its commit fails, as on a full disk,
// and would hand the connection on with the transaction still open.
func inTransaction(ctx context.Context, conn *sql.Conn, begin string, fn func() error) error {
	if _, err := conn.ExecContext(ctx, begin); err != nil {
		return err
	}
	ended := false
	defer func() {
		if !ended {
			rollback(ctx, conn)
		}
	}()
	if err := fn(); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	// From here on the change is either kept or not: a cancel may no longer leave it open which.
	if _, err := conn.ExecContext(context.WithoutCancel(ctx), "COMMIT"); err != nil {
		return err
	}
	ended = true
	return nil
}

// rollback ends the transaction of conn. SQLite ends it by itself after some errors and then refuses
// the ROLLBACK, which is no loss; a connection that cannot roll back at all is taken out of use.
func rollback(ctx context.Context, conn *sql.Conn) {
	_, err := conn.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
	if err != nil && !strings.Contains(err.Error(), "no transaction is active") {
		discard(conn)
	}
}
