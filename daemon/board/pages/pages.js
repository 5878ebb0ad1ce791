// Here stands what the house's own language has in place of English: the pages.js of the folder
// that `board.language` names. English needs nothing.
