"""Where phones find the certificate; also named by the command line."""

PHONE_PAGE = "/phone/certificate"
AUTHORITY_FILE = "/ca.crt"
