//go:build amd64 && !amd64.v3

package same

// exact tells that the compiler rounds every product before it is added.
const exact = true
