-- Schema 3: the bytes of a long record in parts, as no value may be longer than 1e9 bytes and a part is all that has to
-- be in memory. The row in trace_bytes holds part 0; each part is Zstandard by itself, so that the parts one after
-- another are Zstandard, too.

CREATE TABLE trace_part (
  sha256 TEXT NOT NULL REFERENCES trace_bytes (sha256),
  number INTEGER NOT NULL CHECK (number > 0),
  data   BLOB NOT NULL CHECK (length(data) > 0),
  PRIMARY KEY (sha256, number)
) STRICT;

CREATE TRIGGER trace_part_once BEFORE INSERT ON trace_part
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM trace_part WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'trace_part is append-only'); END;
CREATE TRIGGER trace_part_no_update BEFORE UPDATE ON trace_part BEGIN SELECT RAISE(ABORT, 'trace_part is append-only'); END;
CREATE TRIGGER trace_part_no_delete BEFORE DELETE ON trace_part BEGIN SELECT RAISE(ABORT, 'trace_part is append-only'); END;
