package acquire

import (
	"errors"
	"fmt"
	"os"
	"strings"
)

// SignIn is how a source proves to a broker who it is, and how the broker proves that to the source. It stands in no
// spool and in no record.
type SignIn struct {
	User         string `json:"-" yaml:"user"`
	Password     string `json:"-" yaml:"password"`      // refused: descriptions are copied, mailed and kept
	PasswordFile string `json:"-" yaml:"password_file"` // holds the password in its first line
	PasswordEnv  string `json:"-" yaml:"password_env"`  // name of the variable of the environment that holds it
	TLS          bool   `json:"-" yaml:"tls"`
	CAFile       string `json:"-" yaml:"ca_file"` // certificates in PEM of those whose signature is trusted; empty = the computer's
}

// ErrRefused is in the error of a source that was turned away and will be again until a person changes something.
var ErrRefused = errors.New("the sign-in is refused")

func (s *SignIn) check(k Kind) error {
	if s.Password != "" {
		s.Password = ""
		return fmt.Errorf("password: it would stand here for everybody who gets a copy of this file; write it into a file of its own and name that by password_file, or name a variable of the environment by password_env")
	}
	keys := []struct {
		name  string
		given bool
	}{{"user", s.User != ""}, {"password_file", s.PasswordFile != ""}, {"password_env", s.PasswordEnv != ""}, {"tls", s.TLS}, {"ca_file", s.CAFile != ""}}
	for _, key := range keys {
		if key.given && k != MQTT {
			return fmt.Errorf("%s: only a source of kind mqtt has one; remove it", key.name)
		}
	}
	switch {
	case s.PasswordFile != "" && s.PasswordEnv != "":
		return fmt.Errorf("password_env: the password cannot come from there and from password_file; remove one of them")
	case s.User == "" && s.PasswordFile+s.PasswordEnv != "":
		return fmt.Errorf("%s: there is a password and no user; write user: NAME", map[bool]string{true: "password_file", false: "password_env"}[s.PasswordFile != ""])
	case s.CAFile != "" && !s.TLS:
		return fmt.Errorf("ca_file: it is only looked at with tls: true; write that, or remove it")
	}
	return nil
}

// Secret reads the password; empty when none is named.
func (s *SignIn) Secret() (string, error) {
	if s.PasswordEnv != "" {
		v := os.Getenv(s.PasswordEnv)
		if v == "" {
			return "", fmt.Errorf("password_env: the variable %s is empty or not set; set it before the program is started", s.PasswordEnv)
		}
		return v, nil
	}
	if s.PasswordFile == "" {
		return "", nil
	}
	b, err := os.ReadFile(s.PasswordFile)
	if err != nil {
		return "", fmt.Errorf("password_file: %w; the name is seen from the folder in which the program was started", err)
	}
	line, _, _ := strings.Cut(string(b), "\n")
	if line = strings.TrimSuffix(line, "\r"); line == "" {
		return "", fmt.Errorf("password_file: %s has no password in its first line", s.PasswordFile)
	}
	return line, nil
}
