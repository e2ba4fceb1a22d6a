from django.urls import path

from workshop.today import views

app_name = "today"
urlpatterns = [path("", views.desk, name="desk")]
