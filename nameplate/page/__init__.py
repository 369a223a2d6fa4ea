"""The page: a job in the browser, for people who use no terminal. Same engine, ticket, list and record."""
