-- Schema 2: what belongs to a day at the tower, the checklist before a drop and photos.

CREATE TABLE checklist (
  seq     INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id TEXT NOT NULL REFERENCES drop_id (id),
  body    TEXT NOT NULL
) STRICT;
CREATE INDEX checklist_by_drop ON checklist (drop_id, seq);

-- The kept bytes of a photo, once for each content. They are a JPEG, which does not compress further.
CREATE TABLE photo_bytes (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  data   BLOB NOT NULL CHECK (length(data) > 0)
) STRICT;

CREATE TABLE photo (
  seq     INTEGER PRIMARY KEY REFERENCES history (seq),
  drop_id TEXT NOT NULL REFERENCES drop_id (id),
  sha256  TEXT NOT NULL REFERENCES photo_bytes (sha256),
  body    TEXT NOT NULL
) STRICT;
CREATE INDEX photo_by_drop ON photo (drop_id, seq);

CREATE TRIGGER photo_bytes_once BEFORE INSERT ON photo_bytes
WHEN EXISTS (SELECT 1 FROM photo_bytes WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'photo_bytes is append-only'); END;
CREATE TRIGGER checklist_once BEFORE INSERT ON checklist
WHEN EXISTS (SELECT 1 FROM checklist WHERE seq = NEW.seq)
  OR 'checklist' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'checklist is append-only'); END;
CREATE TRIGGER photo_once BEFORE INSERT ON photo
WHEN EXISTS (SELECT 1 FROM photo WHERE seq = NEW.seq)
  OR 'photo' IS NOT (SELECT kind FROM history WHERE seq = NEW.seq)
  OR NEW.seq IS NOT (SELECT max(seq) FROM history)
BEGIN SELECT RAISE(ABORT, 'photo is append-only'); END;

CREATE TRIGGER checklist_no_update BEFORE UPDATE ON checklist BEGIN SELECT RAISE(ABORT, 'checklist is append-only'); END;
CREATE TRIGGER checklist_no_delete BEFORE DELETE ON checklist BEGIN SELECT RAISE(ABORT, 'checklist is append-only'); END;
CREATE TRIGGER photo_bytes_no_update BEFORE UPDATE ON photo_bytes BEGIN SELECT RAISE(ABORT, 'photo_bytes is append-only'); END;
CREATE TRIGGER photo_bytes_no_delete BEFORE DELETE ON photo_bytes BEGIN SELECT RAISE(ABORT, 'photo_bytes is append-only'); END;
CREATE TRIGGER photo_no_update BEFORE UPDATE ON photo BEGIN SELECT RAISE(ABORT, 'photo is append-only'); END;
CREATE TRIGGER photo_no_delete BEFORE DELETE ON photo BEGIN SELECT RAISE(ABORT, 'photo is append-only'); END;
