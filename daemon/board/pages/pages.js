// Here stands what the house's own language has in place of english.js: the pages.js of the folder
// that `board.language` names. English needs nothing.
