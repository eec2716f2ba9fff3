package meshstore

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path"
	"strings"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"

	"crownassay/internal/ctxio"
	"crownassay/record"
)

// Where the environment says how a bucket is reached.
const (
	EnvEndpoint = "CROWNASSAY_S3_ENDPOINT" // such as https://meshes.example:9000
	EnvKey      = "CROWNASSAY_S3_KEY"
	EnvSecret   = "CROWNASSAY_S3_SECRET"
	EnvRegion   = "CROWNASSAY_S3_REGION" // optional
)

// bucket is a store in a bucket of an S3 server.
type bucket struct {
	client *minio.Client
	bucket string
	prefix string
}

// openBucket opens BUCKET/PREFIX with what the environment says.
func openBucket(ctx context.Context, at string, env func(string) string) (Store, error) {
	where, prefix, _ := strings.Cut(at, "/")
	if where == "" || strings.ContainsAny(where, "@:?") {
		return nil, fmt.Errorf("open the store of meshes: write its address as s3://BUCKET/PREFIX; server and keys are in the environment as %s, %s and %s", EnvEndpoint, EnvKey, EnvSecret)
	}
	for _, name := range []string{EnvEndpoint, EnvKey, EnvSecret} {
		if env(name) == "" {
			return nil, fmt.Errorf("open the store of meshes s3://%s: %s is not set in the environment", at, name)
		}
	}
	u, err := url.Parse(env(EnvEndpoint))
	if err != nil || u.Host == "" || u.User != nil || u.Scheme != "https" && u.Scheme != "http" {
		return nil, fmt.Errorf("open the store of meshes s3://%s: %s is no address of a server; write it as https://HOST:PORT", at, EnvEndpoint)
	}
	c, err := minio.New(u.Host, &minio.Options{Secure: u.Scheme == "https", Region: env(EnvRegion), Creds: credentials.NewStaticV4(env(EnvKey), env(EnvSecret), "")})
	if err != nil {
		return nil, fmt.Errorf("open the store of meshes s3://%s: %w", at, err)
	}
	b := &bucket{c, where, prefix}
	ok, err := c.BucketExists(ctx, where)
	if err != nil {
		return nil, fmt.Errorf("open the store of meshes s3://%s at %s: %w", at, u.Host, err)
	}
	if !ok {
		return nil, fmt.Errorf("open the store of meshes s3://%s: there is no bucket %s at %s; make it first", at, where, u.Host)
	}
	return b, nil
}

func (b *bucket) object(sha string) string { return path.Join(b.prefix, name(sha)) }

// Put uploads a file whose hash is right. That two machines upload the same
// content at once does no harm.
func (b *bucket) Put(ctx context.Context, sha, from string) error {
	if err := checked(sha); err != nil {
		return err
	}
	_, err := b.client.StatObject(ctx, b.bucket, b.object(sha), minio.StatObjectOptions{})
	if err == nil {
		return nil
	}
	if !missing(err) {
		return fmt.Errorf("keep %s: %w", from, err)
	}
	if err := b.upload(ctx, sha, from); err != nil {
		return fmt.Errorf("keep %s: %w", from, err)
	}
	return nil
}

func (b *bucket) upload(ctx context.Context, sha, from string) error {
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	defer f.Close()
	got, err := record.HashReader(ctxio.Reader(ctx, f))
	if err != nil {
		return err
	}
	if got != sha {
		return fmt.Errorf("the file has the hash %s, not %s: it was changed", got[:12], sha[:12])
	}
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err = b.client.PutObject(ctx, b.bucket, b.object(sha), f, size, minio.PutObjectOptions{ContentType: "application/octet-stream"})
	return err
}

// Get downloads a file.
func (b *bucket) Get(ctx context.Context, sha, to string) error {
	if err := checked(sha); err != nil {
		return err
	}
	o, err := b.client.GetObject(ctx, b.bucket, b.object(sha), minio.GetObjectOptions{})
	if err == nil {
		defer o.Close()
		err = copied(ctx, o, sha, to)
	}
	if err != nil && missing(err) {
		err = ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("get mesh %s: %w", sha[:12], err)
	}
	return nil
}

// missing reports whether an error says that there is no such object.
func missing(err error) bool {
	var r minio.ErrorResponse
	return errors.As(err, &r) && r.StatusCode == http.StatusNotFound && r.Code != "NoSuchBucket"
}
