// Package malformed holds every reader of bytes that come from outside against the same zoo of malformed inputs: none may take
// more memory than its bound.
package malformed
