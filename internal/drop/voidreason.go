package drop

// VoidReasons are the reasons to void a drop that are offered; any other may be given.
func VoidReasons() []string {
	return []string{"the release stuck", "the mass touched the guide", "wrong specimen", "the logger was not armed", "the load cell was overloaded", "the specimen was mounted wrongly"}
}
