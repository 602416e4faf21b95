package figure

// TextWidth is the width that text may take, for tests of layout.
var TextWidth = textWidth
