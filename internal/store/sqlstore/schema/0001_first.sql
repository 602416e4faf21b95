-- Schema 1. Every table is append-only: a row is written once, together with its history entry.
-- A file that has been released with this schema stays readable: change nothing here, add 0002.

CREATE TABLE history (
  seq       INTEGER PRIMARY KEY,
  at        TEXT NOT NULL,
  kind      TEXT NOT NULL,
  subject   TEXT NOT NULL,
  payload   TEXT NOT NULL,
  prev_hash BLOB NOT NULL CHECK (length(prev_hash) = 32),
  hash      BLOB NOT NULL UNIQUE CHECK (length(hash) = 32)
) STRICT;
CREATE INDEX history_by_subject ON history (kind, subject, seq);

CREATE TABLE campaign_revision (
  seq  INTEGER PRIMARY KEY REFERENCES history (seq),
  body TEXT NOT NULL
) STRICT;

CREATE TABLE rig_revision (
  seq  INTEGER PRIMARY KEY REFERENCES history (seq),
  body TEXT NOT NULL
) STRICT;

-- One row for each drop, with the entry that first added it.
CREATE TABLE drop_id (
  id  TEXT PRIMARY KEY,
  seq INTEGER NOT NULL UNIQUE REFERENCES history (seq)
) STRICT;

CREATE TABLE drop_revision (
  seq     INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id TEXT NOT NULL REFERENCES drop_id (id),
  body    TEXT NOT NULL
) STRICT;
CREATE INDEX drop_revision_by_drop ON drop_revision (drop_id, seq);

-- The original bytes of a record, once for each content. coding: plain, or zstd (RFC 8878).
CREATE TABLE trace_bytes (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  bytes  INTEGER NOT NULL CHECK (bytes > 0),
  coding TEXT NOT NULL CHECK (coding IN ('plain', 'zstd')),
  data   BLOB NOT NULL
) STRICT;

CREATE TABLE trace (
  seq     INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id TEXT NOT NULL REFERENCES drop_id (id),
  sha256  TEXT NOT NULL REFERENCES trace_bytes (sha256),
  name    TEXT NOT NULL
) STRICT;
CREATE INDEX trace_by_drop ON trace (drop_id, seq);

CREATE TABLE reduction (
  seq          INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id      TEXT NOT NULL REFERENCES drop_id (id),
  trace_sha256 TEXT NOT NULL REFERENCES trace_bytes (sha256),
  version      TEXT NOT NULL,
  settings     BLOB NOT NULL,
  result       BLOB NOT NULL
) STRICT;
CREATE INDEX reduction_by_drop ON reduction (drop_id, seq);

CREATE TABLE decision (
  seq     INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id TEXT NOT NULL REFERENCES drop_id (id),
  body    TEXT NOT NULL
) STRICT;
CREATE INDEX decision_by_drop ON decision (drop_id, seq);

-- drop_id is NULL for a note on the campaign.
CREATE TABLE note (
  seq     INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id TEXT REFERENCES drop_id (id),
  body    TEXT NOT NULL
) STRICT;

-- The history grows at its end only, each entry on the one before.
CREATE TRIGGER history_in_order BEFORE INSERT ON history
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM history)
  OR NEW.prev_hash IS NOT coalesce((SELECT hash FROM history ORDER BY seq DESC LIMIT 1), zeroblob(32))
BEGIN SELECT RAISE(ABORT, 'history: an entry must follow the last one'); END;

-- No row is replaced (INSERT OR REPLACE fires no DELETE trigger).
CREATE TRIGGER trace_bytes_once BEFORE INSERT ON trace_bytes
WHEN EXISTS (SELECT 1 FROM trace_bytes WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'trace_bytes is append-only'); END;

CREATE TRIGGER drop_id_once BEFORE INSERT ON drop_id
WHEN EXISTS (SELECT 1 FROM drop_id WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'drop_id is append-only'); END;

-- A row of state belongs to the last entry, which is of its kind, and is the only one that does.
CREATE TRIGGER campaign_revision_once BEFORE INSERT ON campaign_revision
WHEN EXISTS (SELECT 1 FROM campaign_revision WHERE seq = NEW.seq)
  OR 'campaign' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'campaign_revision is append-only'); END;
CREATE TRIGGER rig_revision_once BEFORE INSERT ON rig_revision
WHEN EXISTS (SELECT 1 FROM rig_revision WHERE seq = NEW.seq)
  OR 'rig' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'rig_revision is append-only'); END;
CREATE TRIGGER drop_revision_once BEFORE INSERT ON drop_revision
WHEN EXISTS (SELECT 1 FROM drop_revision WHERE seq = NEW.seq)
  OR 'drop' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'drop_revision is append-only'); END;
CREATE TRIGGER trace_once BEFORE INSERT ON trace
WHEN EXISTS (SELECT 1 FROM trace WHERE seq = NEW.seq)
  OR 'trace' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'trace is append-only'); END;
CREATE TRIGGER reduction_once BEFORE INSERT ON reduction
WHEN EXISTS (SELECT 1 FROM reduction WHERE seq = NEW.seq)
  OR 'reduction' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'reduction is append-only'); END;
CREATE TRIGGER decision_once BEFORE INSERT ON decision
WHEN EXISTS (SELECT 1 FROM decision WHERE seq = NEW.seq)
  OR 'decision' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;
CREATE TRIGGER note_once BEFORE INSERT ON note
WHEN EXISTS (SELECT 1 FROM note WHERE seq = NEW.seq)
  OR 'note' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'note is append-only'); END;

-- Nothing is altered and nothing deleted.
CREATE TRIGGER history_no_update BEFORE UPDATE ON history BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;
CREATE TRIGGER history_no_delete BEFORE DELETE ON history BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;
CREATE TRIGGER campaign_revision_no_update BEFORE UPDATE ON campaign_revision BEGIN SELECT RAISE(ABORT, 'campaign_revision is append-only'); END;
CREATE TRIGGER campaign_revision_no_delete BEFORE DELETE ON campaign_revision BEGIN SELECT RAISE(ABORT, 'campaign_revision is append-only'); END;
CREATE TRIGGER rig_revision_no_update BEFORE UPDATE ON rig_revision BEGIN SELECT RAISE(ABORT, 'rig_revision is append-only'); END;
CREATE TRIGGER rig_revision_no_delete BEFORE DELETE ON rig_revision BEGIN SELECT RAISE(ABORT, 'rig_revision is append-only'); END;
CREATE TRIGGER drop_id_no_update BEFORE UPDATE ON drop_id BEGIN SELECT RAISE(ABORT, 'drop_id is append-only'); END;
CREATE TRIGGER drop_id_no_delete BEFORE DELETE ON drop_id BEGIN SELECT RAISE(ABORT, 'drop_id is append-only'); END;
CREATE TRIGGER drop_revision_no_update BEFORE UPDATE ON drop_revision BEGIN SELECT RAISE(ABORT, 'drop_revision is append-only'); END;
CREATE TRIGGER drop_revision_no_delete BEFORE DELETE ON drop_revision BEGIN SELECT RAISE(ABORT, 'drop_revision is append-only'); END;
CREATE TRIGGER trace_bytes_no_update BEFORE UPDATE ON trace_bytes BEGIN SELECT RAISE(ABORT, 'trace_bytes is append-only'); END;
CREATE TRIGGER trace_bytes_no_delete BEFORE DELETE ON trace_bytes BEGIN SELECT RAISE(ABORT, 'trace_bytes is append-only'); END;
CREATE TRIGGER trace_no_update BEFORE UPDATE ON trace BEGIN SELECT RAISE(ABORT, 'trace is append-only'); END;
CREATE TRIGGER trace_no_delete BEFORE DELETE ON trace BEGIN SELECT RAISE(ABORT, 'trace is append-only'); END;
CREATE TRIGGER reduction_no_update BEFORE UPDATE ON reduction BEGIN SELECT RAISE(ABORT, 'reduction is append-only'); END;
CREATE TRIGGER reduction_no_delete BEFORE DELETE ON reduction BEGIN SELECT RAISE(ABORT, 'reduction is append-only'); END;
CREATE TRIGGER decision_no_update BEFORE UPDATE ON decision BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;
CREATE TRIGGER decision_no_delete BEFORE DELETE ON decision BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;
CREATE TRIGGER note_no_update BEFORE UPDATE ON note BEGIN SELECT RAISE(ABORT, 'note is append-only'); END;
CREATE TRIGGER note_no_delete BEFORE DELETE ON note BEGIN SELECT RAISE(ABORT, 'note is append-only'); END;
