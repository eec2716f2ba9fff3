package phantom

// Truth is what the measuring code must find.
type Truth struct{}
